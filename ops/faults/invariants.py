"""What must hold whatever happened, asked straight in SQL on either database.

Each entry is a sentence and a question whose answer must be 0: how many rows break it.
"""

BROKEN = [
    ("no unit is promised twice for one time",
     "SELECT count(*) FROM holds a JOIN holds b ON a.unit_id = b.unit_id AND a.id < b.id "
     "AND a.from_s < b.to_s AND b.from_s < a.to_s"),
    ("every standing booking holds something",
     "SELECT count(*) FROM bookings b WHERE b.state = 'booked' "
     "AND NOT EXISTS (SELECT 1 FROM holds h WHERE h.booking_id = b.id)"),
    ("no cancelled booking holds anything",
     "SELECT count(*) FROM holds h JOIN bookings b ON b.id = h.booking_id WHERE b.state <> 'booked'"),
    ("no hold is of a booking or run that is not there",
     "SELECT count(*) FROM holds h WHERE (h.booking_id IS NOT NULL AND NOT EXISTS "
     "(SELECT 1 FROM bookings b WHERE b.id = h.booking_id)) OR (h.run_id IS NOT NULL AND NOT EXISTS "
     "(SELECT 1 FROM runs r WHERE r.id = h.run_id))"),
    ("no two lights in one room at one time",
     "SELECT count(*) FROM room_lights a JOIN room_lights b ON a.room_id = b.room_id AND a.id < b.id "
     "AND a.light <> b.light AND a.from_s < b.to_s AND b.from_s < a.to_s"),
    ("a run counts once in a bath's ledger",
     "SELECT count(*) FROM (SELECT bath_id, run_id FROM bath_entries WHERE run_id IS NOT NULL "
     "GROUP BY bath_id, run_id HAVING count(*) > 1) AS twice"),
    ("a roll is in one run of a published day at most",
     "SELECT count(*) FROM (SELECT rr.roll_id FROM run_rolls rr JOIN runs r ON r.id = rr.run_id "
     "JOIN day_plans p ON p.id = r.plan_id WHERE p.state = 'published' AND r.ended_s IS NULL "
     "AND r.withdrawn_s IS NULL GROUP BY rr.roll_id HAVING count(*) > 1) AS twice"),
    ("a published day has all its runs promised, a draft none",
     "SELECT count(*) FROM runs r JOIN day_plans p ON p.id = r.plan_id WHERE r.ended_s IS NULL "
     "AND r.withdrawn_s IS NULL AND (p.state = 'published') <> EXISTS "
     "(SELECT 1 FROM holds h WHERE h.run_id = r.id)"),
    ("one plan of a day is published",
     "SELECT count(*) FROM (SELECT date FROM day_plans WHERE state = 'published' GROUP BY date "
     "HAVING count(*) > 1) AS twice"),
    ("one letter for one cause",
     "SELECT count(*) FROM (SELECT dedupe_key FROM outbox GROUP BY dedupe_key HAVING count(*) > 1) AS twice"),
    ("no letter is both sent and parked",
     "SELECT count(*) FROM outbox WHERE sent_s IS NOT NULL AND parked_s IS NOT NULL"),
    ("every booking of the crowd has its line in the trail, and every line its booking",
     "SELECT abs((SELECT count(*) FROM trail WHERE door = 'POST /api/v1/bookings') - "
     "(SELECT count(*) FROM bookings WHERE note = 'fault'))"),
    ("every use of a bath has its line in the trail, and every line its use",
     "SELECT abs((SELECT count(*) FROM trail WHERE door = 'POST /api/v1/baths/{id}/uses') - "
     "(SELECT count(DISTINCT note) FROM bath_entries WHERE note LIKE 'fault-%'))"),
    ("a member who left has neither address nor password",
     "SELECT count(*) FROM members WHERE state = 'left' AND (email IS NOT NULL OR password_hash IS NOT NULL)"),
    ("the studio and its settings are there once",
     "SELECT abs(2 - (SELECT count(*) FROM studio) - (SELECT count(*) FROM keeping))"),
]

SQLITE_OWN = [
    ("SQLite finds its file whole", "SELECT CASE WHEN integrity_check = 'ok' THEN 0 ELSE 1 END FROM pragma_integrity_check"),
    ("SQLite finds no row without its parent", "SELECT count(*) FROM pragma_foreign_key_check"),
]


def ask(database, sql):
    return int(database.rows(sql)[0][0])


def check(database, is_sqlite, acknowledged):
    """Asks everything; returns what does not hold, as sentences, and how many questions there were."""
    wrong, asked = [], 0
    for sentence, sql in BROKEN + (SQLITE_OWN if is_sqlite else []):
        asked += 1
        if broken := ask(database, sql):
            wrong.append(f"{sentence}: {broken} break it")
    there = {row[0] for row in database.rows("SELECT id FROM bookings WHERE state = 'booked'")}
    if lost := [b for b in acknowledged.bookings if str(b) not in there]:
        wrong.append(f"every acknowledged booking is there: {len(lost)} are lost, such as {lost[:3]}")
    # A use of a bath that has a second one is written to both.
    notes = [tuple(row) for row in database.rows("SELECT bath_id, note FROM bath_entries WHERE note LIKE 'fault-%'")]
    if lost := set(acknowledged.uses) - {note for _, note in notes}:
        wrong.append(f"every acknowledged use is there: {len(lost)} are lost, such as {sorted(lost)[:3]}")
    if len(notes) != len(set(notes)):
        wrong.append(f"every use is there once: {len(notes) - len(set(notes))} are there twice")
    for date in acknowledged.published:
        published = f"SELECT count(*) FROM day_plans WHERE state = 'published' AND date = '{date}'"
        if not ask(database, published):
            wrong.append(f"every acknowledged day is published: {date} is not")
    return wrong, asked + 4
