DROP TABLE unwanted_letters;
DROP TABLE outbox;
