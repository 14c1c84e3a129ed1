use std::collections::BTreeMap;

use diesel::prelude::*;

use crate::clock::Moment;
use crate::db::schema::{
    induction_items, induction_signatures, members, note_acknowledgements, note_questions,
};
use crate::db::{Conn, Tx};
use crate::error::Error;

/// A question of understanding about a note.
#[derive(Clone, Debug, PartialEq, Eq, Queryable, Selectable)]
#[diesel(table_name = note_questions)]
pub(in crate::safety) struct Question {
    pub(in crate::safety) id: i64,
    pub(in crate::safety) slug: String,
    pub(in crate::safety) question: String,
    pub(in crate::safety) right_answer: String,
    pub(in crate::safety) wrong_answer: String,
    pub(in crate::safety) second_wrong: String,
    pub(in crate::safety) why: String,
    pub(in crate::safety) version: i64,
}

/// The questions that are asked about a note, in the order they were made.
pub(in crate::safety) fn questions(conn: &mut Conn, slug: &str) -> Result<Vec<Question>, Error> {
    Ok(note_questions::table
        .filter(note_questions::slug.eq(slug))
        .filter(note_questions::retired_s.is_null())
        .order(note_questions::id)
        .select(Question::as_select())
        .load(conn)?)
}

pub(in crate::safety) fn question(conn: &mut Conn, id: i64) -> Result<Question, Error> {
    Ok(note_questions::table
        .filter(note_questions::id.eq(id))
        .filter(note_questions::retired_s.is_null())
        .select(Question::as_select())
        .get_result(conn)?)
}

pub(in crate::safety) fn ask(tx: &mut Tx<'_>, q: &Question) -> Result<(), Error> {
    diesel::insert_into(note_questions::table)
        .values((
            note_questions::slug.eq(&q.slug),
            note_questions::question.eq(&q.question),
            note_questions::right_answer.eq(&q.right_answer),
            note_questions::wrong_answer.eq(&q.wrong_answer),
            note_questions::second_wrong.eq(&q.second_wrong),
            note_questions::why.eq(&q.why),
            note_questions::version.eq(1),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// Whether the question was still of the version the change was made from.
pub(in crate::safety) fn reword(tx: &mut Tx<'_>, q: &Question) -> Result<bool, Error> {
    let same = note_questions::table
        .filter(note_questions::id.eq(q.id))
        .filter(note_questions::version.eq(q.version));
    let rows = diesel::update(same)
        .set((
            note_questions::question.eq(&q.question),
            note_questions::right_answer.eq(&q.right_answer),
            note_questions::wrong_answer.eq(&q.wrong_answer),
            note_questions::second_wrong.eq(&q.second_wrong),
            note_questions::why.eq(&q.why),
            note_questions::version.eq(note_questions::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(rows == 1)
}

pub(in crate::safety) fn retire_question(
    tx: &mut Tx<'_>,
    now: Moment,
    id: i64,
) -> Result<(), Error> {
    diesel::update(note_questions::table.find(id))
        .set((
            note_questions::retired_s.eq(now.0),
            note_questions::version.eq(note_questions::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// The latest version of each note that a member has acknowledged, and when.
pub(in crate::safety) fn acknowledged(
    conn: &mut Conn,
    member: i64,
) -> Result<BTreeMap<String, (i64, Moment)>, Error> {
    let rows: Vec<(String, i64, i64)> = note_acknowledgements::table
        .filter(note_acknowledgements::member_id.eq(member))
        .order(note_acknowledgements::number)
        .select((
            note_acknowledgements::slug,
            note_acknowledgements::number,
            note_acknowledgements::at_s,
        ))
        .load(conn)?;
    Ok(rows.into_iter().map(|(slug, n, at)| (slug, (n, Moment(at)))).collect())
}

/// Acknowledges once; a second time changes nothing.
pub(in crate::safety) fn acknowledge(
    tx: &mut Tx<'_>,
    now: Moment,
    member: i64,
    (slug, number, questions): (&str, i64, i64),
) -> Result<(), Error> {
    let done = note_acknowledgements::table
        .filter(note_acknowledgements::slug.eq(slug))
        .filter(note_acknowledgements::number.eq(number))
        .filter(note_acknowledgements::member_id.eq(member))
        .select(note_acknowledgements::id);
    if diesel::select(diesel::dsl::exists(done)).get_result(tx.conn())? {
        return Ok(());
    }
    diesel::insert_into(note_acknowledgements::table)
        .values((
            note_acknowledgements::slug.eq(slug),
            note_acknowledgements::number.eq(number),
            note_acknowledgements::member_id.eq(member),
            note_acknowledgements::at_s.eq(now.0),
            note_acknowledgements::questions.eq(questions),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// One acknowledgement, for the list of who has read what.
#[derive(Clone, Debug)]
pub(in crate::safety) struct Read {
    pub(in crate::safety) member: String,
    pub(in crate::safety) email: Option<String>,
    pub(in crate::safety) slug: String,
    pub(in crate::safety) number: i64,
    pub(in crate::safety) at: Moment,
    pub(in crate::safety) questions: i64,
}

/// All acknowledgements, by member and note.
pub(in crate::safety) fn all_acknowledgements(conn: &mut Conn) -> Result<Vec<Read>, Error> {
    type Row = (String, Option<String>, String, i64, i64, i64);
    let rows: Vec<Row> = note_acknowledgements::table
        .inner_join(members::table)
        .order((
            members::name,
            members::id,
            note_acknowledgements::slug,
            note_acknowledgements::number,
        ))
        .select((
            members::name,
            members::email,
            note_acknowledgements::slug,
            note_acknowledgements::number,
            note_acknowledgements::at_s,
            note_acknowledgements::questions,
        ))
        .load(conn)?;
    Ok(rows
        .into_iter()
        .map(|(member, email, slug, number, at, questions)| Read {
            member,
            email,
            slug,
            number,
            at: Moment(at),
            questions,
        })
        .collect())
}

/// Those who may sign in: id, name, role word, by name.
pub(in crate::safety) fn people(conn: &mut Conn) -> Result<Vec<(i64, String, String)>, Error> {
    Ok(members::table
        .filter(members::state.eq_any(["active", "paused"]))
        .order((members::name, members::id))
        .select((members::id, members::name, members::role))
        .load(conn)?)
}

/// Which member has acknowledged which version of which note.
pub(in crate::safety) fn all_pairs(conn: &mut Conn) -> Result<Vec<(i64, String, i64)>, Error> {
    Ok(note_acknowledgements::table
        .select((
            note_acknowledgements::member_id,
            note_acknowledgements::slug,
            note_acknowledgements::number,
        ))
        .load(conn)?)
}

/// A thing a newcomer does before the eyes of a lead.
#[derive(Clone, Debug, PartialEq, Eq, Queryable, Selectable)]
#[diesel(table_name = induction_items)]
pub(in crate::safety) struct Item {
    pub(in crate::safety) id: i64,
    pub(in crate::safety) position: i64,
    pub(in crate::safety) text: String,
    pub(in crate::safety) version: i64,
}

pub(in crate::safety) fn items(conn: &mut Conn) -> Result<Vec<Item>, Error> {
    Ok(induction_items::table
        .filter(induction_items::retired_s.is_null())
        .order((induction_items::position, induction_items::id))
        .select(Item::as_select())
        .load(conn)?)
}

pub(in crate::safety) fn add_item(tx: &mut Tx<'_>, position: i64, text: &str) -> Result<(), Error> {
    diesel::insert_into(induction_items::table)
        .values((
            induction_items::position.eq(position),
            induction_items::text.eq(text),
            induction_items::version.eq(1),
        ))
        .execute(tx.conn())?;
    Ok(())
}

pub(in crate::safety) fn retire_item(tx: &mut Tx<'_>, now: Moment, id: i64) -> Result<(), Error> {
    diesel::update(induction_items::table.find(id))
        .set((
            induction_items::retired_s.eq(now.0),
            induction_items::version.eq(induction_items::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// What of the induction is signed for a member: item, by whom, when.
pub(in crate::safety) fn signatures(
    conn: &mut Conn,
    member: i64,
) -> Result<BTreeMap<i64, (i64, Moment)>, Error> {
    let rows: Vec<(i64, i64, i64)> = induction_signatures::table
        .filter(induction_signatures::member_id.eq(member))
        .select((
            induction_signatures::item_id,
            induction_signatures::signed_by,
            induction_signatures::at_s,
        ))
        .load(conn)?;
    Ok(rows.into_iter().map(|(item, by, at)| (item, (by, Moment(at)))).collect())
}

pub(in crate::safety) fn sign(
    tx: &mut Tx<'_>,
    now: Moment,
    (item, member, lead): (i64, i64, i64),
) -> Result<(), Error> {
    diesel::insert_into(induction_signatures::table)
        .values((
            induction_signatures::item_id.eq(item),
            induction_signatures::member_id.eq(member),
            induction_signatures::signed_by.eq(lead),
            induction_signatures::at_s.eq(now.0),
        ))
        .execute(tx.conn())?;
    Ok(())
}
