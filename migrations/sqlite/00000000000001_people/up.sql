-- The gate every change passes: locked, never filled.
CREATE TABLE write_gate (id INTEGER PRIMARY KEY) STRICT;

CREATE TABLE studio (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    name TEXT NOT NULL,
    about TEXT NOT NULL,
    time_zone TEXT NOT NULL,
    joining TEXT NOT NULL CHECK (joining IN ('invitation', 'application')),
    password_length INTEGER NOT NULL CHECK (password_length BETWEEN 12 AND 64),
    near_limit_percent INTEGER NOT NULL CHECK (near_limit_percent BETWEEN 10 AND 99),
    key_print BLOB NOT NULL,
    version INTEGER NOT NULL
) STRICT;

CREATE TABLE members (
    id INTEGER PRIMARY KEY,
    name TEXT NOT NULL,
    email TEXT,
    email_key TEXT UNIQUE,
    password_hash TEXT,
    role TEXT NOT NULL CHECK (role IN ('newcomer', 'member', 'lead')),
    state TEXT NOT NULL CHECK (state IN ('invited', 'applied', 'active', 'paused', 'left')),
    verified_s INTEGER,
    time_zone TEXT,
    day_order TEXT NOT NULL CHECK (day_order IN ('day_month', 'month_day', 'year_month')),
    hours_24 INTEGER NOT NULL CHECK (hours_24 IN (0, 1)),
    us_units INTEGER NOT NULL CHECK (us_units IN (0, 1)),
    note TEXT NOT NULL,
    created_s INTEGER NOT NULL,
    left_s INTEGER,
    version INTEGER NOT NULL,
    -- Who left keeps no address and no way in; who can sign in has a proven address.
    CHECK (state <> 'left' OR (email IS NULL AND email_key IS NULL AND password_hash IS NULL)),
    CHECK (state <> 'active' OR (email_key IS NOT NULL AND verified_s IS NOT NULL))
) STRICT;

CREATE TABLE sessions (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES members (id),
    token_hash BLOB NOT NULL UNIQUE,
    agent TEXT NOT NULL,
    address TEXT NOT NULL,
    created_s INTEGER NOT NULL,
    seen_s INTEGER NOT NULL,
    expires_s INTEGER NOT NULL
) STRICT;
CREATE INDEX sessions_of_member ON sessions (member_id);

CREATE TABLE api_tokens (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES members (id),
    token_hash BLOB NOT NULL UNIQUE,
    label TEXT NOT NULL,
    created_s INTEGER NOT NULL,
    seen_s INTEGER,
    expires_s INTEGER NOT NULL
) STRICT;
CREATE INDEX api_tokens_of_member ON api_tokens (member_id);

-- Single-use links; the secret itself is made from a key file outside the database.
CREATE TABLE secret_links (
    id INTEGER PRIMARY KEY,
    purpose TEXT NOT NULL CHECK (purpose IN
        ('set_up', 'invitation', 'verify', 'reset', 'address_old', 'address_new')),
    member_id INTEGER REFERENCES members (id),
    payload TEXT,
    created_s INTEGER NOT NULL,
    expires_s INTEGER NOT NULL,
    used_s INTEGER
) STRICT;
CREATE INDEX secret_links_of_member ON secret_links (member_id);

CREATE TABLE tries (
    id INTEGER PRIMARY KEY,
    key TEXT NOT NULL,
    at_s INTEGER NOT NULL
) STRICT;
CREATE INDEX tries_by_key ON tries (key, at_s);
CREATE INDEX tries_by_age ON tries (at_s);

CREATE TABLE once_keys (
    scope TEXT NOT NULL,
    key TEXT NOT NULL,
    print BLOB NOT NULL,
    answer TEXT NOT NULL,
    at_s INTEGER NOT NULL,
    PRIMARY KEY (scope, key)
) STRICT;
CREATE INDEX once_keys_by_age ON once_keys (at_s);
