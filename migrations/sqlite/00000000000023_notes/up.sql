-- Notes: what a version changed, and whether it takes the note down. A posted version stays as it is.
ALTER TABLE safety_notes ADD COLUMN change_note TEXT NOT NULL DEFAULT '';
ALTER TABLE safety_notes ADD COLUMN withdrawn INTEGER NOT NULL DEFAULT 0 CHECK (withdrawn IN (0, 1));
CREATE TRIGGER safety_notes_never_change BEFORE UPDATE ON safety_notes
BEGIN SELECT RAISE(ABORT, 'safety_notes_never_change'); END;
CREATE TRIGGER safety_notes_never_go BEFORE DELETE ON safety_notes
BEGIN SELECT RAISE(ABORT, 'safety_notes_never_change'); END;

-- What a lead filled into a blank; the latest row of a blank holds.
CREATE TABLE note_fillings (
    id INTEGER PRIMARY KEY,
    blank TEXT NOT NULL,
    value TEXT NOT NULL,
    authority TEXT NOT NULL,
    ruled_on TEXT,
    filled_s INTEGER NOT NULL,
    filled_by INTEGER REFERENCES members (id)
) STRICT;
CREATE INDEX note_fillings_of_blank ON note_fillings (blank, id);

CREATE TABLE note_questions (
    id INTEGER PRIMARY KEY,
    slug TEXT NOT NULL,
    question TEXT NOT NULL CHECK (question <> ''),
    right_answer TEXT NOT NULL CHECK (right_answer <> ''),
    wrong_answer TEXT NOT NULL CHECK (wrong_answer <> '' AND wrong_answer <> right_answer),
    second_wrong TEXT NOT NULL CHECK (second_wrong <> right_answer),
    why TEXT NOT NULL,
    retired_s INTEGER,
    version INTEGER NOT NULL
) STRICT;
CREATE INDEX note_questions_of_note ON note_questions (slug);

-- Who has read which version.
CREATE TABLE note_acknowledgements (
    id INTEGER PRIMARY KEY,
    slug TEXT NOT NULL,
    number INTEGER NOT NULL,
    member_id INTEGER NOT NULL REFERENCES members (id),
    at_s INTEGER NOT NULL,
    questions INTEGER NOT NULL CHECK (questions >= 0),
    UNIQUE (slug, number, member_id),
    FOREIGN KEY (slug, number) REFERENCES safety_notes (slug, number)
) STRICT;
CREATE INDEX note_acknowledgements_of_member ON note_acknowledgements (member_id);

CREATE TABLE induction_items (
    id INTEGER PRIMARY KEY,
    position INTEGER NOT NULL,
    text TEXT NOT NULL CHECK (text <> ''),
    retired_s INTEGER,
    version INTEGER NOT NULL
) STRICT;

-- A lead was there and saw it done; nobody signs for themselves.
CREATE TABLE induction_signatures (
    id INTEGER PRIMARY KEY,
    item_id INTEGER NOT NULL REFERENCES induction_items (id),
    member_id INTEGER NOT NULL REFERENCES members (id),
    signed_by INTEGER NOT NULL REFERENCES members (id),
    at_s INTEGER NOT NULL,
    UNIQUE (item_id, member_id),
    CHECK (signed_by <> member_id)
) STRICT;
CREATE INDEX induction_signatures_of_member ON induction_signatures (member_id);
