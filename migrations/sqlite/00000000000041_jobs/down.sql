DROP INDEX outbox_sent;
DROP TABLE jobs;
