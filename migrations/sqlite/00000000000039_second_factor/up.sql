-- A member's second factor. What the codes are made from is worked out from the key file and
-- this row's number drawn at random, so that the database alone makes no code.
CREATE TABLE second_factors (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL UNIQUE REFERENCES members (id),
    drawn BLOB NOT NULL,
    begun_s INTEGER NOT NULL,
    confirmed_s INTEGER,
    -- The latest half minute whose code was used: none is taken twice, nor an earlier one.
    last_step INTEGER NOT NULL
) STRICT;

CREATE TABLE recovery_codes (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES members (id),
    code_hash BLOB NOT NULL,
    used_s INTEGER,
    UNIQUE (member_id, code_hash)
) STRICT;

ALTER TABLE sessions ADD COLUMN second_factor INTEGER NOT NULL DEFAULT 0 CHECK (second_factor IN (0, 1));
ALTER TABLE api_tokens ADD COLUMN second_factor INTEGER NOT NULL DEFAULT 0 CHECK (second_factor IN (0, 1));
