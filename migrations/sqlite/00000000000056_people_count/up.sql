-- A count that goes up when somebody who may be signed in changes, or loses a session: while it
-- stands, a server that knew a moment ago who is asking still knows it. Kept by triggers, so that
-- no change can forget it.
ALTER TABLE pulse ADD COLUMN people INTEGER NOT NULL DEFAULT 0;
CREATE TRIGGER people_changed AFTER UPDATE OF name, role, state, time_zone, day_order, hours_24, us_units ON members BEGIN
    UPDATE pulse SET people = people + 1;
END;
CREATE TRIGGER people_gone AFTER DELETE ON members BEGIN
    UPDATE pulse SET people = people + 1;
END;
CREATE TRIGGER people_sessions AFTER UPDATE OF member_id, token_hash, expires_s, second_factor ON sessions BEGIN
    UPDATE pulse SET people = people + 1;
END;
CREATE TRIGGER people_signed_out AFTER DELETE ON sessions BEGIN
    UPDATE pulse SET people = people + 1;
END;
