CREATE TABLE outbox (
    id INTEGER PRIMARY KEY,
    kind TEXT NOT NULL,
    member_id INTEGER REFERENCES members (id),
    to_name TEXT NOT NULL,
    to_address TEXT NOT NULL,
    subject TEXT NOT NULL,
    body TEXT NOT NULL,
    optional INTEGER NOT NULL CHECK (optional IN (0, 1)),
    link_id INTEGER REFERENCES secret_links (id),
    dedupe_key TEXT NOT NULL UNIQUE,
    message_id TEXT NOT NULL UNIQUE,
    created_s INTEGER NOT NULL,
    send_after_s INTEGER NOT NULL,
    attempts INTEGER NOT NULL,
    claimed_by TEXT,
    claimed_until_s INTEGER,
    last_error TEXT,
    sent_s INTEGER,
    parked_s INTEGER,
    CHECK (sent_s IS NULL OR parked_s IS NULL)
) STRICT;
CREATE INDEX outbox_waiting ON outbox (send_after_s) WHERE sent_s IS NULL AND parked_s IS NULL;
CREATE INDEX outbox_parked ON outbox (parked_s) WHERE parked_s IS NOT NULL;

-- Kinds of optional letters a member does not want.
CREATE TABLE unwanted_letters (
    member_id INTEGER NOT NULL REFERENCES members (id),
    kind TEXT NOT NULL,
    PRIMARY KEY (member_id, kind)
) STRICT;
