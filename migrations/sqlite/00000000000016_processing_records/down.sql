DROP TABLE result_notes;
DROP TABLE processing_records;
