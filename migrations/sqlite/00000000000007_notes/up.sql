CREATE TABLE safety_notes (
    id INTEGER PRIMARY KEY,
    slug TEXT NOT NULL,
    number INTEGER NOT NULL,
    position INTEGER NOT NULL,
    title TEXT NOT NULL,
    summary TEXT NOT NULL,
    body TEXT NOT NULL,
    essential INTEGER NOT NULL CHECK (essential IN (0, 1)),
    published_s INTEGER NOT NULL,
    published_by INTEGER REFERENCES members (id),
    UNIQUE (slug, number)
) STRICT;
