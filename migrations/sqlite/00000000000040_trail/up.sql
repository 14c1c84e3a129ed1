-- How long what is past is kept, and what is asked of leads.
CREATE TABLE keeping (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    trail_days INTEGER NOT NULL CHECK (trail_days BETWEEN 90 AND 3650),
    letters_days INTEGER NOT NULL CHECK (letters_days BETWEEN 14 AND 3650),
    holds_days INTEGER NOT NULL CHECK (holds_days BETWEEN 30 AND 3650),
    leads_second_factor INTEGER NOT NULL CHECK (leads_second_factor IN (0, 1)),
    version INTEGER NOT NULL
) STRICT;
INSERT INTO keeping (id, trail_days, letters_days, holds_days, leads_second_factor, version)
VALUES (1, 730, 90, 400, 0, 1);

-- Who changed what, whose it was, and when: one line a change, written with the change. Numbers
-- only, no names: who leaves the studio is a number from then on.
CREATE TABLE trail (
    id INTEGER PRIMARY KEY,
    at_s INTEGER NOT NULL,
    actor_id INTEGER,
    via TEXT NOT NULL CHECK (via IN ('page', 'token', 'nobody', 'machine')),
    door TEXT NOT NULL,
    thing TEXT NOT NULL,
    owner_id INTEGER,
    only_tried INTEGER NOT NULL CHECK (only_tried IN (0, 1))
) STRICT;
CREATE INDEX trail_by_time ON trail (at_s);
CREATE INDEX trail_by_actor ON trail (actor_id, id);
CREATE INDEX trail_by_owner ON trail (owner_id, id);

-- A line is never changed, and never deleted before its time, counted from the newest line.
CREATE TRIGGER trail_never_changes BEFORE UPDATE ON trail BEGIN
    SELECT RAISE(ABORT, 'a line of the trail is never changed');
END;
CREATE TRIGGER trail_keeps_its_time BEFORE DELETE ON trail
WHEN OLD.at_s >= (SELECT max(at_s) FROM trail) - 86400 * (SELECT trail_days FROM keeping)
BEGIN
    SELECT RAISE(ABORT, 'a line of the trail is kept for its time');
END;
