-- timeline.parquet: what every circuit in use does, the whole period without gaps, in the order of the figures.
SELECT circuit_id, start_utc, end_utc, level, conditional FROM timeline
