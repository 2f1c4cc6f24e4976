-- Sites with work for a crew, in the order of their rank, and what a visit is worth there. Only what a visit can change
-- counts: the weights of findings that are mended on site, and the avoidable cost of the circuits that they are about.
WITH work AS (
    FROM visit_work WHERE fix = 'on-site' AND aside IS NULL
), changing AS (      -- a clock's backup, or a look, changes no light
    FROM work WHERE kind NOT IN ('backup', 'look')
), mended AS (        -- all circuits of a device where a finding is about the device
    SELECT circuit_id FROM changing JOIN circuits ON subject_kind = 'circuit' AND subject_id = circuit_id
    UNION
    SELECT circuit_id FROM changing JOIN circuits USING (controller_id) WHERE subject_kind IN ('controller', 'step')
    UNION
    SELECT unnest(circuits) FROM changing JOIN sensors ON subject_kind = 'sensor' AND subject_id = sensor_id
), energy AS (        -- summed as decimals: the same in whatever order
    SELECT figures.site_id,
        (sum(avoidable_cost::DECIMAL(24, 6)) * 365)::DOUBLE / any_value(days) AS avoidable_cost   -- money a year
    FROM circuit_figures AS figures JOIN mended USING (circuit_id) CROSS JOIN period
    GROUP BY figures.site_id
), weighed AS (
    SELECT site_id, sum(weight::DECIMAL(24, 6))::DOUBLE AS weights FROM work GROUP BY site_id
)
SELECT rank, site_id, name, address, latitude, longitude, timezone, region, site_type,
    CASE WHEN energy.site_id IS NULL THEN 0 ELSE energy.avoidable_cost END AS avoidable_cost,   -- NULL: not known
    coalesce(energy.avoidable_cost, 0) + weights AS worth   -- money-equivalents a year
FROM weighed
JOIN sites USING (site_id)
JOIN site_ranks USING (site_id)
LEFT JOIN energy USING (site_id)
ORDER BY rank
