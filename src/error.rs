//! The one error of the house, sorted by what the person can do next.

use std::collections::BTreeMap;
use std::fmt;

use diesel::result::{DatabaseErrorKind as Kind, Error as Diesel};

/// Sentences about single fields, by the field's name in the form or body.
pub type Faults = BTreeMap<String, String>;

/// Why a request did not do what it asked for.
#[derive(Clone, Debug)]
pub enum Error {
    /// Nobody is signed in, and somebody must be.
    SignIn,
    /// Signed in, but this door is for others; the sentence says for whom.
    Forbidden(String),
    /// Not here, or not yours: the two look alike on purpose.
    NotFound,
    /// The rules or the present state say no; `code` is stable for programs.
    Refused {
        /// A short stable word, such as `slot-taken`.
        code: &'static str,
        /// What is wrong and what would do, for people.
        sentence: String,
    },
    /// The request cannot be read at all.
    Unreadable(String),
    /// Some fields are wrong; each has its sentence.
    Invalid(Faults),
    /// The body is larger than this door takes.
    TooLarge,
    /// The body is of a kind this door does not read; what it reads.
    WrongKind(&'static str),
    /// The path is known, the method is not; these are.
    Method(String),
    /// Too many tries; wait this many seconds.
    Slow(i64),
    /// The house is busy or its database away; try again shortly.
    Busy,
    /// A fault of ours: logged once, shown only as a number.
    Broken(String),
}

impl Error {
    /// A refusal with its stable code and its sentence.
    pub fn refused(code: &'static str, sentence: impl Into<String>) -> Error {
        Error::Refused { code, sentence: sentence.into() }
    }

    /// One field is wrong.
    pub fn field(name: &str, sentence: impl Into<String>) -> Error {
        Error::Invalid(BTreeMap::from([(name.to_owned(), sentence.into())]))
    }

    /// A fault of ours, with what was being done and what came of it.
    pub fn broken(doing: &str, cause: impl fmt::Display) -> Error {
        Error::Broken(format!("{doing}: {cause}"))
    }

    /// Whether the same change may succeed if simply tried again.
    #[must_use]
    pub fn is_passing(&self) -> bool {
        matches!(self, Error::Busy)
    }
}

impl fmt::Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Error::SignIn => f.write_str("Please sign in first."),
            Error::NotFound => f.write_str("There is nothing here under that address."),
            Error::Forbidden(s) | Error::Unreadable(s) | Error::Refused { sentence: s, .. } => {
                f.write_str(s)
            }
            Error::Invalid(faults) => {
                let all: Vec<_> = faults.iter().map(|(k, v)| format!("{k}: {v}")).collect();
                f.write_str(&all.join(" "))
            }
            Error::TooLarge => f.write_str("That is more than this page can take in one go."),
            Error::WrongKind(wanted) => write!(f, "Please send this as {wanted}."),
            Error::Method(allowed) => write!(f, "This address answers only {allowed}."),
            Error::Slow(s) => write!(f, "Too many tries. Please wait {s} seconds and try again."),
            Error::Busy => f.write_str("The studio's server is busy. Please try again shortly."),
            Error::Broken(_) => f.write_str("Something broke on our side."),
        }
    }
}

impl std::error::Error for Error {}

impl From<Diesel> for Error {
    fn from(e: Diesel) -> Error {
        match &e {
            Diesel::NotFound => Error::NotFound,
            Diesel::DatabaseError(Kind::SerializationFailure | Kind::ClosedConnection, _) => {
                Error::Busy
            }
            Diesel::DatabaseError(_, info) if is_passing_message(info.message()) => Error::Busy,
            _ => Error::broken("database", e),
        }
    }
}

/// What diesel has no kind for: locks, dead servers and full disks on either engine.
fn is_passing_message(message: &str) -> bool {
    const PASSING: [&str; 14] = [
        "database is locked",
        "database table is locked",
        "database or disk is full",
        "disk I/O error",
        "deadlock detected",
        "lock timeout",
        "could not obtain lock",
        "terminating connection",
        "server closed the connection",
        "connection to server",
        "no connection to the server",
        "No space left on device",
        "the database system is",
        "SSL SYSCALL error",
    ];
    PASSING.iter().any(|p| message.contains(p))
}

impl From<diesel::r2d2::PoolError> for Error {
    fn from(_: diesel::r2d2::PoolError) -> Error {
        Error::Busy
    }
}

impl From<actix_web::error::BlockingError> for Error {
    fn from(_: actix_web::error::BlockingError) -> Error {
        Error::Busy
    }
}

impl From<tera::Error> for Error {
    fn from(e: tera::Error) -> Error {
        let mut text = e.to_string();
        let mut cause = std::error::Error::source(&e);
        while let Some(c) = cause {
            text.push_str(": ");
            text.push_str(&c.to_string());
            cause = c.source();
        }
        Error::broken("page", text)
    }
}
