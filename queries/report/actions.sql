-- What was done about findings that are still there, oldest first.
SELECT actions.finding_id, date, "by", disposition, note
FROM actions JOIN findings USING (finding_id)
ORDER BY actions.finding_id, date, actions.source_row
