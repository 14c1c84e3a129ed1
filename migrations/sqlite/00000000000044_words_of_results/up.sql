-- Each word of what a film was developed in and of what was noted of it, in small letters, once a
-- film: so that a word nobody wrote is known at once, and a rare one is found however old it is.
CREATE TABLE result_words (
    word TEXT NOT NULL,
    roll_id INTEGER NOT NULL REFERENCES rolls (id),
    PRIMARY KEY (roll_id, word)
) STRICT, WITHOUT ROWID;

INSERT OR IGNORE INTO result_words (word, roll_id)
WITH RECURSIVE written (roll_id, text) AS (
    SELECT roll_id, note FROM result_notes
    UNION ALL
    SELECT roll_id, developer FROM processing_records
),
parts (roll_id, word, rest) AS (
    SELECT roll_id, '', replace(replace(replace(replace(replace(replace(replace(replace(replace(replace(
        replace(replace(replace(replace(replace(replace(lower(text), char(10), ' '), char(13), ' '),
        char(9), ' '), ',', ' '), '.', ' '), ';', ' '), ':', ' '), '!', ' '), '?', ' '), '(', ' '),
        ')', ' '), '+', ' '), '-', ' '), '/', ' '), '"', ' '), '''', ' ') || ' '
    FROM written
    UNION ALL
    SELECT roll_id, substr(rest, 1, instr(rest, ' ') - 1), substr(rest, instr(rest, ' ') + 1)
    FROM parts WHERE rest <> ''
)
SELECT substr(word, 1, 40), roll_id FROM parts WHERE word <> '';

CREATE INDEX result_words_by_word ON result_words (word, roll_id);
CREATE INDEX result_notes_of_look ON result_notes (look, roll_id);
CREATE INDEX recipes_of_ei ON recipes (ei, state);
