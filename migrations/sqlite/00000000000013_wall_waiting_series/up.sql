-- The screen at the door: its address is made from the key file and this number.
CREATE TABLE wall (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    number INTEGER NOT NULL,
    dark_until_s INTEGER,
    with_room INTEGER NOT NULL CHECK (with_room IN (0, 1))
) STRICT;
INSERT INTO wall (id, number, dark_until_s, with_room) VALUES (1, 1, NULL, 1);
-- How a member's name stands there; who is not in here is not named.
CREATE TABLE wall_names (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL UNIQUE REFERENCES members (id),
    shows TEXT NOT NULL CHECK (shows IN ('initials', 'first', 'whole'))
) STRICT;

-- The waiting list: a day, a length, a window of wall-clock times, perhaps a sink.
CREATE TABLE wishes (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES members (id),
    date TEXT NOT NULL,
    from_wall TEXT NOT NULL,
    to_wall TEXT NOT NULL,
    length_min INTEGER NOT NULL CHECK (length_min BETWEEN 5 AND 1440),
    sink_id INTEGER REFERENCES sinks (id),
    state TEXT NOT NULL CHECK (state IN ('waiting', 'offered', 'taken', 'withdrawn', 'lapsed')),
    made_s INTEGER NOT NULL
) STRICT;
CREATE UNIQUE INDEX wishes_once_a_day ON wishes (member_id, date)
    WHERE state IN ('waiting', 'offered');
CREATE INDEX wishes_waiting ON wishes (date, id) WHERE state = 'waiting';
CREATE INDEX wishes_of_member ON wishes (member_id, date);

-- One wish is offered one slot, once.
CREATE TABLE offers (
    id INTEGER PRIMARY KEY,
    wish_id INTEGER NOT NULL UNIQUE REFERENCES wishes (id),
    sink_id INTEGER NOT NULL REFERENCES sinks (id),
    from_s INTEGER NOT NULL,
    to_s INTEGER NOT NULL,
    made_s INTEGER NOT NULL,
    expires_s INTEGER NOT NULL,
    state TEXT NOT NULL CHECK (state IN ('open', 'taken', 'declined', 'lapsed')),
    CHECK (from_s < to_s),
    CHECK (expires_s <= from_s)
) STRICT;
CREATE INDEX offers_open ON offers (expires_s) WHERE state = 'open';
ALTER TABLE holds ADD COLUMN offer_id INTEGER REFERENCES offers (id)
    CHECK (why <> 'offer' OR offer_id IS NOT NULL);
CREATE INDEX holds_of_offer ON holds (offer_id);

-- Recurring sessions of a lead: an RFC 5545 rule on local times. Each occurrence is an ordinary
-- booking; one without a booking was left out.
CREATE TABLE series (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES members (id),
    title TEXT NOT NULL,
    sink_id INTEGER NOT NULL REFERENCES sinks (id),
    first_date TEXT NOT NULL,
    from_wall TEXT NOT NULL,
    to_wall TEXT NOT NULL,
    rule TEXT NOT NULL,
    made_s INTEGER NOT NULL,
    version INTEGER NOT NULL
) STRICT;
CREATE TABLE occurrences (
    id INTEGER PRIMARY KEY,
    series_id INTEGER NOT NULL REFERENCES series (id),
    original TEXT NOT NULL,
    booking_id INTEGER UNIQUE REFERENCES bookings (id),
    left_out TEXT NOT NULL,
    UNIQUE (series_id, original),
    CHECK (booking_id IS NOT NULL OR left_out <> '')
) STRICT;

CREATE TRIGGER wall_changed_beat AFTER UPDATE ON wall BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT -1, n FROM pulse;
END;
CREATE TRIGGER wall_names_made_beat AFTER INSERT ON wall_names BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT -1, n FROM pulse;
END;
CREATE TRIGGER wall_names_gone_beat AFTER DELETE ON wall_names BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT -1, n FROM pulse;
END;

CREATE TRIGGER special_days_made_beat AFTER INSERT ON special_days BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT -1, n FROM pulse;
END;
CREATE TRIGGER special_days_gone_beat AFTER DELETE ON special_days BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT -1, n FROM pulse;
END;
CREATE TRIGGER limits_changed_beat AFTER UPDATE ON booking_limits BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT -1, n FROM pulse;
END;
