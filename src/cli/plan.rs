//! `wetside plan DAY.json`: plans a day from a file, without any server.

use std::{fs, io::Write, path::Path};

use crate::planner::{Budget, Day, Fault, plan};

/// Reads the file, writes its plan to `out`, or everything wrong with it to `err`.
///
/// Answers the exit code: 0, or 2 where the file cannot be read or is faulty, or 1 where the
/// plan cannot be written.
pub(super) fn run(path: &Path, out: &mut dyn Write, err: &mut dyn Write) -> u8 {
    let read = fs::read(path).map_err(|error| vec![format!("{}: {error}", path.display())]);
    let day = read.and_then(|bytes| {
        let text = String::from_utf8(bytes).map_err(|error| {
            let at = error.utf8_error().valid_up_to();
            vec![format!("byte {at}: not UTF-8; save the file as UTF-8")]
        })?;
        let sentences = |faults: Vec<Fault>| faults.iter().map(Fault::to_string).collect();
        Day::from_json(&text).map_err(sentences)
    });
    let day = match day {
        Ok(day) => day,
        Err(faults) => {
            let written = faults.iter().try_for_each(|fault| writeln!(err, "{fault}"));
            return if written.is_ok() { 2 } else { 1 };
        }
    };
    let plan = plan(&day, &Budget::default(), &mut |_| {});
    let written = serde_json::to_string_pretty(&plan)
        .map_err(std::io::Error::from)
        .and_then(|text| writeln!(out, "{text}"));
    u8::from(written.is_err())
}
