-- Each word of what a film was developed in and of what was noted of it, in small letters, once a
-- film: so that a word nobody wrote is known at once, and a rare one is found however old it is.
-- Words are compared byte by byte, so that the beginning of a word is a range of them.
CREATE TABLE result_words (
    word TEXT COLLATE "C" NOT NULL,
    roll_id BIGINT NOT NULL REFERENCES rolls (id),
    PRIMARY KEY (roll_id, word)
);

INSERT INTO result_words (word, roll_id)
SELECT DISTINCT left(word, 40), roll_id
FROM (
    SELECT roll_id, note AS text FROM result_notes
    UNION ALL
    SELECT roll_id, developer FROM processing_records
) written
CROSS JOIN LATERAL regexp_split_to_table(lower(text), '[^[:alnum:]]+') AS word
WHERE word <> ''
ON CONFLICT DO NOTHING;

CREATE INDEX result_words_by_word ON result_words (word, roll_id);
CREATE INDEX result_notes_of_look ON result_notes (look, roll_id);
CREATE INDEX recipes_of_ei ON recipes (ei, state);
