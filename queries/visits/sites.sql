-- Sites with work for a crew, in the order of their rank, and what a visit is worth there. Only what a visit can change
-- counts: the avoidable cost of circuits that no desk reaches, and the weights of findings that are mended on site.
WITH energy AS (    -- summed as decimals: the same in whatever order
    SELECT figures.site_id,
        (sum(avoidable_cost::DECIMAL(24, 6)) * 365)::DOUBLE / any_value(days) AS avoidable_cost   -- money a year
    FROM circuit_figures AS figures JOIN controllers USING (controller_id) CROSS JOIN period
    WHERE NOT coalesce(remote, false)
    GROUP BY figures.site_id
), work AS (
    SELECT site_id, sum(weight::DECIMAL(24, 6))::DOUBLE AS weights
    FROM visit_work WHERE fix = 'on-site'
    GROUP BY site_id
)
SELECT rank, site_id, name, address, latitude, longitude, timezone, region, site_type, energy.avoidable_cost,
    coalesce(energy.avoidable_cost, 0) + weights AS worth   -- money-equivalents a year
FROM work
JOIN sites USING (site_id)
JOIN site_ranks USING (site_id)
LEFT JOIN energy USING (site_id)
ORDER BY rank
