-- What the planning of a large day is busy with, and how far it is in that.
ALTER TABLE planning_jobs ADD COLUMN phase TEXT NOT NULL DEFAULT 'waiting'
    CHECK (phase IN ('waiting', 'placing', 'grouping', 'trying', 'proving', 'in_turn', 'keeping'));
ALTER TABLE planning_jobs ADD COLUMN steps_done BIGINT NOT NULL DEFAULT 0 CHECK (steps_done >= 0);
ALTER TABLE planning_jobs ADD COLUMN steps_all BIGINT NOT NULL DEFAULT 0 CHECK (steps_all >= 0);
