//! The engine's own settings on which "acknowledged means kept" rests.

use diesel::prelude::*;
use diesel::sql_query;
use diesel::sql_types::Text;

use super::{Conn, Db};
use crate::error::Error;

/// One setting of the engine.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Setting {
    /// Its name.
    pub name: &'static str,
    /// What it is.
    pub value: String,
    /// What it should be.
    pub wanted: &'static str,
    /// Whether it is so.
    pub is_safe: bool,
}

#[derive(QueryableByName)]
struct Row {
    #[diesel(sql_type = Text)]
    value: String,
}

impl Db {
    /// The settings that keep acknowledged changes through a power cut, on a writing connection.
    ///
    /// # Errors
    /// As [`Db::read`].
    pub fn safety(&self) -> Result<Vec<Setting>, Error> {
        self.write_now(|tx| read(tx.conn()))
    }
}

fn read(conn: &mut Conn) -> Result<Vec<Setting>, Error> {
    match conn {
        Conn::Sqlite(c) => {
            let ask = |c: &mut SqliteConnection, sql: &str| -> Result<String, Error> {
                Ok(sql_query(sql).get_result::<Row>(c)?.value)
            };
            let sync = ask(c, "SELECT CAST(synchronous AS TEXT) AS value FROM pragma_synchronous")?;
            let mode = ask(c, "SELECT journal_mode AS value FROM pragma_journal_mode")?;
            let keys =
                ask(c, "SELECT CAST(foreign_keys AS TEXT) AS value FROM pragma_foreign_keys")?;
            Ok(vec![
                setting("synchronous", sync, "2"),
                setting("journal_mode", mode, "wal"),
                setting("foreign_keys", keys, "1"),
            ])
        }
        Conn::Postgres(c) => {
            let mut all = Vec::new();
            for name in ["fsync", "full_page_writes"] {
                let sql = format!("SELECT current_setting('{name}') AS value");
                all.push(setting(name, sql_query(sql).get_result::<Row>(c)?.value, "on"));
            }
            let sql = "SELECT current_setting('synchronous_commit') AS value";
            let value = sql_query(sql).get_result::<Row>(c)?.value;
            let is_safe = value != "off";
            all.push(Setting { name: "synchronous_commit", value, wanted: "on", is_safe });
            Ok(all)
        }
    }
}

fn setting(name: &'static str, value: String, wanted: &'static str) -> Setting {
    Setting { is_safe: value == wanted, name, value, wanted }
}
