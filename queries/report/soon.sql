-- What begins within 60 days of the newest reading, in order of date; at one date worst first, then by rank.
WITH names AS (
    SELECT 'circuit' AS subject_kind, circuit_id AS subject_id, name FROM circuits
    UNION ALL
    SELECT 'sensor', sensor_id, kind FROM sensors
)
SELECT soon.*, rank, names.name, sites.name AS site_name, region
FROM soon JOIN site_ranks USING (site_id) JOIN sites USING (site_id) LEFT JOIN names USING (subject_kind, subject_id)
ORDER BY date, severity_place(severity) NULLS LAST, kind, rule, rank, subject_kind, subject_id, what
