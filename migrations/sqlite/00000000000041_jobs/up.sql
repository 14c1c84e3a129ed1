-- What the house does by itself: one server at a time has a job, until a moment of the database's
-- own clock. The fence grows with every taking; a change of a former holder is refused by it.
CREATE TABLE jobs (
    name TEXT PRIMARY KEY NOT NULL,
    holder TEXT NOT NULL,
    fence INTEGER NOT NULL CHECK (fence > 0),
    until_s INTEGER NOT NULL,
    due_s INTEGER NOT NULL
) STRICT;

-- Letters that left and still have their text.
CREATE INDEX outbox_sent ON outbox (sent_s) WHERE sent_s IS NOT NULL AND body <> '';
