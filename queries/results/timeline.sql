-- timeline.parquet: what every circuit in use does, the whole period without gaps, in the order of the figures.
-- Beside numbers, which come in full vectors, its rows come in full vectors, too: else the file's row groups would follow
-- the store's, and these the batches. Sorting by rowid does the same, with six times the file's size of scratch.
SELECT circuit_id, start_utc, end_utc, level, conditional
FROM range($rows) POSITIONAL JOIN timeline
