DROP INDEX recipes_of_ei;
DROP INDEX result_notes_of_look;
DROP TABLE result_words;
