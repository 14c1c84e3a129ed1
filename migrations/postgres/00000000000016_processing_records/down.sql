DROP TABLE result_notes;
DROP TABLE processing_records;
DROP FUNCTION processing_records_never_change();
