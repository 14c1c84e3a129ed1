DROP INDEX rolls_of_ei;
