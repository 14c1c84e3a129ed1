-- What a member accepts when they hand film in; versions, the latest counts.
CREATE TABLE drop_off_terms (
    id INTEGER PRIMARY KEY,
    number INTEGER NOT NULL UNIQUE,
    body TEXT NOT NULL,
    published_s INTEGER NOT NULL,
    published_by INTEGER REFERENCES members (id)
) STRICT;

CREATE TABLE accepted_terms (
    terms_id INTEGER NOT NULL REFERENCES drop_off_terms (id),
    member_id INTEGER NOT NULL REFERENCES members (id),
    at_s INTEGER NOT NULL,
    PRIMARY KEY (terms_id, member_id)
) STRICT;

-- Sheets handed in together under one ticket; nothing for a roll.
ALTER TABLE rolls ADD COLUMN sheets INTEGER CHECK (sheets BETWEEN 1 AND 100);
ALTER TABLE rolls ADD COLUMN backing INTEGER NOT NULL DEFAULT 0 CHECK (backing IN (0, 1));
ALTER TABLE rolls ADD COLUMN spool INTEGER NOT NULL DEFAULT 0 CHECK (spool IN (0, 1));
ALTER TABLE rolls ADD COLUMN torn INTEGER NOT NULL DEFAULT 0 CHECK (torn IN (0, 1));
ALTER TABLE rolls ADD COLUMN guessed INTEGER NOT NULL DEFAULT 0 CHECK (guessed IN (0, 1));
ALTER TABLE rolls ADD COLUMN length TEXT NOT NULL DEFAULT 'usual'
    CHECK (length IN ('usual', 'short', 'long'));
ALTER TABLE rolls ADD COLUMN care TEXT NOT NULL DEFAULT 'ordinary'
    CHECK (care IN ('ordinary', 'alone', 'exact', 'after_test'));
ALTER TABLE rolls ADD COLUMN shares INTEGER NOT NULL DEFAULT 1 CHECK (shares IN (0, 1));
ALTER TABLE rolls ADD COLUMN tolerance_percent INTEGER CHECK (tolerance_percent BETWEEN 0 AND 20);
ALTER TABLE rolls ADD COLUMN ready_s INTEGER;
ALTER TABLE rolls ADD COLUMN terms_id INTEGER REFERENCES drop_off_terms (id);
-- Where it is while it is on its way.
ALTER TABLE rolls ADD COLUMN tank_id INTEGER REFERENCES tanks (id);
ALTER TABLE rolls ADD COLUMN place INTEGER CHECK (place BETWEEN 1 AND 40);
ALTER TABLE rolls ADD COLUMN peg TEXT;
ALTER TABLE rolls ADD COLUMN state_s INTEGER NOT NULL DEFAULT 0;
UPDATE rolls SET state_s = COALESCE(
    (SELECT MAX(at_s) FROM roll_events WHERE roll_events.roll_id = rolls.id), handed_in_s);

-- Two films are never on one place of a tank, nor on one peg.
CREATE UNIQUE INDEX rolls_one_on_a_place ON rolls (tank_id, place) WHERE state = 'loaded';
CREATE UNIQUE INDEX rolls_one_on_a_peg ON rolls (peg)
    WHERE state IN ('loaded', 'on_the_hook', 're_fix');

DROP INDEX rolls_of_member;
DROP INDEX rolls_by_state;
CREATE INDEX rolls_by_time ON rolls (handed_in_s, id);
CREATE INDEX rolls_of_member ON rolls (member_id, handed_in_s, id);
CREATE INDEX rolls_of_film ON rolls (film_id, handed_in_s, id);
CREATE INDEX rolls_by_state ON rolls (state, handed_in_s, id);
CREATE INDEX rolls_since ON rolls (state, state_s);
