-- What happened at the sink, in the order it was told. Each step of a run begins once, whoever says so first.
CREATE TABLE run_events (
    id INTEGER PRIMARY KEY,
    run_id INTEGER NOT NULL REFERENCES runs (id),
    kind TEXT NOT NULL CHECK (kind IN ('loaded', 'measured', 'step', 'paused', 'went_on', 'bottle', 'ended', 'aborted')),
    step INTEGER,
    at_s INTEGER NOT NULL,
    told_s INTEGER NOT NULL,
    by_id INTEGER REFERENCES members (id),
    value INTEGER,
    note TEXT NOT NULL,
    UNIQUE (run_id, kind, step),
    CHECK (kind <> 'step' OR step IS NOT NULL)
) STRICT;
CREATE INDEX run_events_of_run ON run_events (run_id, at_s);

CREATE TRIGGER run_events_never_change BEFORE UPDATE ON run_events
BEGIN SELECT RAISE(ABORT, 'run_events_never_change'); END;
CREATE TRIGGER run_events_never_go BEFORE DELETE ON run_events
BEGIN SELECT RAISE(ABORT, 'run_events_never_change'); END;
