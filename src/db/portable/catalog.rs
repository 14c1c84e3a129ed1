//! What tables there are, asked of the engine itself: a new table is backed up from its first day.

use std::collections::{BTreeMap, BTreeSet};

use diesel::prelude::*;
use diesel::sql_query;
use diesel::sql_types::{BigInt, Text};

use crate::db::Conn;
use crate::error::Error;

/// How a column's values stand in the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// As JSON has it.
    Plain,
    /// A truth value, 0 or 1.
    Truth,
    /// Bytes, as hexadecimal digits.
    Bytes,
}

#[derive(Clone, Debug)]
pub(super) struct Column {
    pub(super) name: String,
    /// The engine's own name of the type.
    pub(super) made_as: String,
    pub(super) kind: Kind,
}

#[derive(Clone, Debug)]
pub(super) struct Table {
    pub(super) name: String,
    /// By name.
    pub(super) columns: Vec<Column>,
    /// The primary key.
    pub(super) key: Vec<String>,
}

#[derive(QueryableByName)]
struct Found {
    #[diesel(sql_type = Text)]
    table_name: String,
    #[diesel(sql_type = Text)]
    column_name: String,
    #[diesel(sql_type = Text)]
    made_as: String,
    #[diesel(sql_type = BigInt)]
    place_in_key: i64,
}

#[derive(QueryableByName)]
struct Pair {
    #[diesel(sql_type = Text)]
    lower: String,
    #[diesel(sql_type = Text)]
    upper: String,
}

#[derive(QueryableByName)]
struct Version {
    #[diesel(sql_type = Text)]
    version: String,
}

const SQLITE: &str = "SELECT m.name AS table_name, p.name AS column_name, p.type AS made_as, \
    CAST(p.pk AS BIGINT) AS place_in_key \
    FROM sqlite_master m JOIN pragma_table_info(m.name) p WHERE m.type = 'table' \
    AND m.name NOT LIKE 'sqlite\\_%' ESCAPE '\\' AND m.name NOT LIKE '\\_\\_%' ESCAPE '\\'";
const POSTGRES: &str = "SELECT c.table_name::text, c.column_name::text, \
    c.data_type::text AS made_as, \
    COALESCE(array_position(k.conkey, a.attnum), 0)::bigint AS place_in_key \
    FROM information_schema.columns c \
    JOIN pg_class t ON t.relname = c.table_name AND t.relkind = 'r' \
    JOIN pg_namespace s ON s.oid = t.relnamespace AND s.nspname = c.table_schema \
    JOIN pg_attribute a ON a.attrelid = t.oid AND a.attname = c.column_name \
    LEFT JOIN pg_constraint k ON k.conrelid = t.oid AND k.contype = 'p' \
    WHERE c.table_schema = current_schema() AND c.table_name NOT LIKE '\\_\\_%'";
const SQLITE_KEYS: &str = "SELECT f.\"table\" AS lower, m.name AS upper \
    FROM sqlite_master m JOIN pragma_foreign_key_list(m.name) f WHERE m.type = 'table'";
const POSTGRES_KEYS: &str = "SELECT l.relname::text AS lower, u.relname::text AS upper \
    FROM pg_constraint c JOIN pg_class l ON l.oid = c.confrelid \
    JOIN pg_class u ON u.oid = c.conrelid WHERE c.contype = 'f'";

/// The steps of the schema that this database has taken.
pub(super) fn migrations(conn: &mut Conn) -> Result<Vec<String>, Error> {
    let sql = "SELECT version FROM __diesel_schema_migrations ORDER BY version";
    let rows: Vec<Version> = sql_query(sql).load(conn)?;
    Ok(rows.into_iter().map(|r| r.version).collect())
}

/// All tables, each after those it refers to.
pub(super) fn tables(conn: &mut Conn) -> Result<Vec<Table>, Error> {
    let (columns, keys) = match conn {
        Conn::Sqlite(_) => (SQLITE, SQLITE_KEYS),
        Conn::Postgres(_) => (POSTGRES, POSTGRES_KEYS),
    };
    let found: Vec<Found> = sql_query(columns).load(conn)?;
    let mut named: BTreeMap<String, Vec<Found>> = BTreeMap::new();
    for column in found {
        named.entry(column.table_name.clone()).or_default().push(column);
    }
    let mut waits: BTreeMap<String, BTreeSet<String>> =
        named.keys().map(|name| (name.clone(), BTreeSet::new())).collect();
    for Pair { lower, upper } in sql_query(keys).load::<Pair>(conn)? {
        if lower != upper
            && let Some(first) = waits.get_mut(&upper)
        {
            first.insert(lower);
        }
    }
    let order = after_what_they_need(waits);
    Ok(order.into_iter().filter_map(|name| Some(table(named.remove(&name)?, name))).collect())
}

/// Names in an order in which each comes after what it waits for; those that wait for each other
/// come last.
fn after_what_they_need(mut waits: BTreeMap<String, BTreeSet<String>>) -> Vec<String> {
    let mut order = Vec::new();
    while !waits.is_empty() {
        let mut ready: Vec<String> = waits
            .iter()
            .filter(|(_, for_)| for_.is_empty())
            .map(|(name, _)| name.clone())
            .collect();
        if ready.is_empty() {
            ready = waits.keys().cloned().collect();
        }
        for name in &ready {
            waits.remove(name);
            for first in waits.values_mut() {
                first.remove(name);
            }
        }
        order.append(&mut ready);
    }
    order
}

fn table(found: Vec<Found>, name: String) -> Table {
    let mut key: Vec<(i64, String)> = found
        .iter()
        .filter(|c| c.place_in_key > 0)
        .map(|c| (c.place_in_key, c.column_name.clone()))
        .collect();
    key.sort();
    let mut columns: Vec<Column> = found
        .into_iter()
        .map(|c| {
            let made_as = c.made_as.to_lowercase();
            let kind = match made_as.as_str() {
                "boolean" => Kind::Truth,
                "bytea" | "blob" => Kind::Bytes,
                _ => Kind::Plain,
            };
            Column { name: c.column_name, made_as, kind }
        })
        .collect();
    columns.sort_by(|a, b| a.name.cmp(&b.name));
    Table { name, columns, key: key.into_iter().map(|(_, name)| name).collect() }
}
