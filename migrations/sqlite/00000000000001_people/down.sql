DROP TABLE once_keys;
DROP TABLE tries;
DROP TABLE secret_links;
DROP TABLE api_tokens;
DROP TABLE sessions;
DROP TABLE members;
DROP TABLE studio;
DROP TABLE write_gate;
