-- timeline.parquet: what every circuit in use does, the whole period without gaps, in the order of the figures.
-- By rowid, which changes no order: else the file's row groups would follow the store's, and these the batches.
SELECT circuit_id, start_utc, end_utc, level, conditional FROM timeline ORDER BY rowid
