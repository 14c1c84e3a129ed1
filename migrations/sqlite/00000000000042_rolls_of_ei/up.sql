-- An exposure index is looked for like a film or an owner.
CREATE INDEX rolls_of_ei ON rolls (ei, handed_in_s, id);
