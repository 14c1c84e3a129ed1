-- A draft is never edited: every change makes the next number, and undoing goes back to the one before.
ALTER TABLE day_plans ADD COLUMN wish TEXT NOT NULL DEFAULT '{}';
ALTER TABLE day_plans ADD COLUMN outcome TEXT NOT NULL DEFAULT '{}';
ALTER TABLE day_plans ADD COLUMN made_from INTEGER;
ALTER TABLE day_plans ADD COLUMN said TEXT NOT NULL DEFAULT '';

ALTER TABLE runs ADD COLUMN load_to_s INTEGER NOT NULL DEFAULT 0;
ALTER TABLE runs ADD COLUMN steps TEXT NOT NULL DEFAULT '{}';
ALTER TABLE runs ADD COLUMN measure TEXT NOT NULL DEFAULT '';
ALTER TABLE runs ADD COLUMN pinned INTEGER NOT NULL DEFAULT 0 CHECK (pinned IN (0, 1));
ALTER TABLE runs ADD COLUMN withdrawn_s INTEGER;

-- What the studio set itself; a name without a row stands at its published default.
CREATE TABLE day_figures (
    name TEXT NOT NULL PRIMARY KEY,
    value INTEGER NOT NULL
) STRICT;

-- A day after it was published: each change is a version with its sentence.
CREATE TABLE day_changes (
    id INTEGER PRIMARY KEY,
    date TEXT NOT NULL,
    number INTEGER NOT NULL CHECK (number >= 1),
    at_s INTEGER NOT NULL,
    by_id INTEGER NOT NULL REFERENCES members (id),
    sentence TEXT NOT NULL,
    UNIQUE (date, number)
) STRICT;

-- A run that a member does alone, in the time they booked.
CREATE TABLE own_runs (
    id INTEGER PRIMARY KEY,
    run_id INTEGER NOT NULL UNIQUE REFERENCES runs (id),
    member_id INTEGER NOT NULL REFERENCES members (id),
    booking_id INTEGER NOT NULL REFERENCES bookings (id)
) STRICT;
CREATE INDEX own_runs_of_member ON own_runs (member_id);
