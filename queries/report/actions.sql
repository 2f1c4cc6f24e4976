-- What was done about findings that are still there, oldest first.
SELECT finding_id, date, "by", disposition, note, export_date, contradicted
FROM answers
ORDER BY finding_id, date, source_row
