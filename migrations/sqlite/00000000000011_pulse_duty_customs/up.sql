-- A count that goes up with every change of what the board shows, and the count at which each
-- UTC day (seconds / 86400) last changed. Day -1 stands for every day. Kept by triggers, so that
-- no change can forget it.
CREATE TABLE pulse (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    n INTEGER NOT NULL
) STRICT;
INSERT INTO pulse (id, n) VALUES (1, 0);
CREATE TABLE day_revisions (
    id INTEGER PRIMARY KEY CHECK (id >= -1),
    n INTEGER NOT NULL
) STRICT;
CREATE INDEX day_revisions_by_n ON day_revisions (n);

CREATE TRIGGER bookings_made_beat AFTER INSERT ON bookings BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT max(NEW.from_s / 86400, 0), n FROM pulse;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT max((NEW.to_s - 1) / 86400, 0), n FROM pulse;
END;
CREATE TRIGGER bookings_changed_beat AFTER UPDATE ON bookings BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT max(OLD.from_s / 86400, 0), n FROM pulse;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT max((OLD.to_s - 1) / 86400, 0), n FROM pulse;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT max(NEW.from_s / 86400, 0), n FROM pulse;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT max((NEW.to_s - 1) / 86400, 0), n FROM pulse;
END;
-- What a booking holds changes with its row; runs, offers and what is out of service have none.
CREATE TRIGGER holds_made_beat AFTER INSERT ON holds WHEN NEW.why <> 'booking' BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT max(NEW.from_s / 86400, 0), n FROM pulse;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT max((NEW.to_s - 1) / 86400, 0), n FROM pulse;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT -1, n FROM pulse
        WHERE NEW.to_s - NEW.from_s > 86400;
END;
CREATE TRIGGER holds_gone_beat AFTER DELETE ON holds WHEN OLD.why <> 'booking' BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT max(OLD.from_s / 86400, 0), n FROM pulse;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT max((OLD.to_s - 1) / 86400, 0), n FROM pulse;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT -1, n FROM pulse
        WHERE OLD.to_s - OLD.from_s > 86400;
END;
CREATE TRIGGER sinks_made_beat AFTER INSERT ON sinks BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT -1, n FROM pulse;
END;
CREATE TRIGGER sinks_changed_beat AFTER UPDATE ON sinks BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT -1, n FROM pulse;
END;
CREATE TRIGGER hours_made_beat AFTER INSERT ON opening_hours BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT -1, n FROM pulse;
END;
CREATE TRIGGER hours_gone_beat AFTER DELETE ON opening_hours BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT -1, n FROM pulse;
END;
CREATE TRIGGER names_changed_beat AFTER UPDATE OF name ON members BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT -1, n FROM pulse;
END;

-- When a lead is in the room for others: local date and wall times, and the instants from them.
CREATE TABLE duties (
    id INTEGER PRIMARY KEY,
    member_id INTEGER NOT NULL REFERENCES members (id),
    date TEXT NOT NULL,
    from_wall TEXT NOT NULL,
    to_wall TEXT NOT NULL,
    from_s INTEGER NOT NULL,
    to_s INTEGER NOT NULL,
    note TEXT NOT NULL,
    made_s INTEGER NOT NULL,
    CHECK (from_s < to_s)
) STRICT;
CREATE INDEX duties_by_time ON duties (to_s, from_s);
CREATE TRIGGER duties_made_beat AFTER INSERT ON duties BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT max(NEW.from_s / 86400, 0), n FROM pulse;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT max((NEW.to_s - 1) / 86400, 0), n FROM pulse;
END;
CREATE TRIGGER duties_gone_beat AFTER DELETE ON duties BEGIN
    UPDATE pulse SET n = n + 1;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT max(OLD.from_s / 86400, 0), n FROM pulse;
    INSERT OR REPLACE INTO day_revisions (id, n) SELECT max((OLD.to_s - 1) / 86400, 0), n FROM pulse;
END;

-- How long things wait in this studio, in minutes; 0 where a thing is not done at all.
CREATE TABLE customs (
    id INTEGER PRIMARY KEY CHECK (id = 1),
    remind_min INTEGER NOT NULL CHECK (remind_min BETWEEN 0 AND 10080),
    offer_min INTEGER NOT NULL CHECK (offer_min BETWEEN 10 AND 2880),
    no_show_min INTEGER NOT NULL CHECK (no_show_min BETWEEN 0 AND 240),
    left_open_min INTEGER NOT NULL CHECK (left_open_min BETWEEN 0 AND 720),
    version INTEGER NOT NULL
) STRICT;
INSERT INTO customs (id, remind_min, offer_min, no_show_min, left_open_min, version)
    VALUES (1, 1440, 120, 0, 30, 1);
