//! A form as a page shows it: values, the sentences beside its fields, its once-key.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::error::{Error, Faults};
use crate::secrets;

/// What a template needs to draw one form.
#[derive(Clone, Debug, Default, Serialize)]
pub struct Form {
    /// Where it is sent.
    pub action: String,
    /// The key against double sending.
    pub once_key: String,
    /// The version of the thing it was made from.
    pub version: String,
    /// What stands in the fields.
    pub values: BTreeMap<String, String>,
    /// A sentence beside each field that is wrong.
    pub faults: Faults,
    /// A sentence about the form as a whole.
    pub fault: Option<String>,
    /// The status the page answers with.
    #[serde(skip)]
    pub status: u16,
}

impl Form {
    /// An empty form.
    #[must_use]
    pub fn new(action: &str) -> Form {
        Form {
            action: action.to_owned(),
            once_key: secrets::token(),
            status: 200,
            ..Form::default()
        }
    }

    /// Fills a field in beforehand.
    #[must_use]
    #[expect(
        clippy::needless_pass_by_value,
        reason = "numbers and dates are handed in as they are"
    )]
    pub fn with(mut self, name: &str, value: impl ToString) -> Form {
        self.values.insert(name.to_owned(), value.to_string());
        self
    }

    /// The version of the thing this form edits.
    #[must_use]
    pub fn of_version(mut self, version: i64) -> Form {
        self.version = version.to_string();
        self
    }

    /// The form again, with what was typed and what was wrong with it.
    pub(super) fn again(
        action: &str,
        values: BTreeMap<String, String>,
        version: &str,
        error: Error,
    ) -> Result<Form, Error> {
        let mut form = Form::new(action);
        form.values = values;
        form.version = version.to_owned();
        match error {
            Error::Invalid(faults) => {
                form.faults = faults;
                form.status = 422;
            }
            Error::Refused { code, sentence } => {
                form.fault = Some(sentence);
                form.status = if code == "rule" { 422 } else { 409 };
            }
            other => return Err(other),
        }
        Ok(form)
    }
}
