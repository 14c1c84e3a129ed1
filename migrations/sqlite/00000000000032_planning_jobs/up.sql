-- A large day that is being planned: any server can show how far it is, and stop it.
CREATE TABLE planning_jobs (
    id INTEGER PRIMARY KEY,
    date TEXT NOT NULL,
    rolls INTEGER NOT NULL,
    begun_s INTEGER NOT NULL,
    begun_by INTEGER NOT NULL REFERENCES members (id),
    state TEXT NOT NULL CHECK (state IN ('working', 'done', 'refused', 'dropped')),
    wanted TEXT NOT NULL CHECK (wanted IN ('go_on', 'enough', 'drop')),
    seen_s INTEGER NOT NULL,
    tries INTEGER NOT NULL,
    runs INTEGER NOT NULL,
    sentence TEXT NOT NULL
) STRICT;
