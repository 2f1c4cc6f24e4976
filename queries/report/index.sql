-- The first sites in the order of rank, with the kinds of their open findings: what the list of sites is filtered by.
WITH kinds AS (
    SELECT site_id, list({'rule': rule, 'severity': severity, 'area': area} ORDER BY rule, severity, area) AS kinds
    FROM (SELECT DISTINCT site_id, rule, severity, area
          FROM findings LEFT JOIN circuits ON subject_kind = 'circuit' AND subject_id = circuit_id
          WHERE status = 'open')
    GROUP BY site_id
)
SELECT rank, site_id, score, name, address, region, critical, high, medium, low, avoidable_kwh, avoidable_cost, visit_needed,
    coalesce(kinds, []) AS kinds
FROM site_ranks JOIN sites USING (site_id) LEFT JOIN kinds USING (site_id)
WHERE rank <= $listed
ORDER BY rank
