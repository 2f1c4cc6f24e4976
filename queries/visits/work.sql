-- Each open finding, site by site, worst first: what it takes to mend it, and what was recorded about it.
WITH names AS (
    SELECT 'circuit' AS subject_kind, circuit_id AS subject_id, name FROM circuits
    UNION ALL
    SELECT 'sensor', sensor_id, kind FROM sensors
)
SELECT rank, finding_id, visit_work.site_id, sites.name AS site_name, visit_work.severity, fix, who, kind, bring, minutes,
    title, subject_kind, subject_id, names.name, answered, coalesce(still_there, false) AS still_there, aside
FROM visit_work
JOIN applied_rules USING (rule)
JOIN sites USING (site_id)
JOIN site_ranks USING (site_id)
LEFT JOIN names USING (subject_kind, subject_id)
ORDER BY rank, place
