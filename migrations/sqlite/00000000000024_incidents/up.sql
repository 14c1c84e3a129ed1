-- Who answers for safety, and for how long an incident stays on record after it was closed.
CREATE TABLE safety_settings (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    safety_lead_id INTEGER REFERENCES members (id),
    keep_incidents_months INTEGER NOT NULL CHECK (keep_incidents_months BETWEEN 1 AND 600),
    version INTEGER NOT NULL
) STRICT;
INSERT INTO safety_settings (id, safety_lead_id, keep_incidents_months, version) VALUES (1, NULL, 60, 1);

-- What happened; seen by the reporter and the safety lead only.
CREATE TABLE incidents (
    id INTEGER PRIMARY KEY,
    filed_by INTEGER NOT NULL REFERENCES members (id),
    filed_s INTEGER NOT NULL,
    happened TEXT NOT NULL,
    place TEXT NOT NULL,
    what TEXT NOT NULL CHECK (what <> ''),
    chemical TEXT NOT NULL,
    injury TEXT NOT NULL,
    first_aid TEXT NOT NULL,
    closed_s INTEGER
) STRICT;
CREATE INDEX incidents_of_member ON incidents (filed_by);

CREATE TABLE incident_follow_ups (
    id INTEGER PRIMARY KEY,
    incident_id INTEGER NOT NULL REFERENCES incidents (id) ON DELETE CASCADE,
    at_s INTEGER NOT NULL,
    by_id INTEGER NOT NULL REFERENCES members (id),
    text TEXT NOT NULL CHECK (text <> '')
) STRICT;
CREATE INDEX incident_follow_ups_of_incident ON incident_follow_ups (incident_id);

CREATE TABLE eyewash_checks (
    id INTEGER PRIMARY KEY,
    at_s INTEGER NOT NULL,
    by_id INTEGER NOT NULL REFERENCES members (id),
    works INTEGER NOT NULL CHECK (works IN (0, 1)),
    note TEXT NOT NULL
) STRICT;
CREATE INDEX eyewash_checks_by_time ON eyewash_checks (at_s);

-- What is barred until a lead takes it on by name.
CREATE TABLE taken_on (
    id INTEGER PRIMARY KEY,
    what TEXT NOT NULL UNIQUE,
    taken_by INTEGER NOT NULL REFERENCES members (id),
    taken_s INTEGER NOT NULL,
    reason TEXT NOT NULL CHECK (reason <> '')
) STRICT;
