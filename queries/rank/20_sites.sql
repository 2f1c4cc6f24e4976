-- Sites in the order in which somebody should go and look: people in the dark first, then money and its equivalents.

INSERT INTO site_ranks BY NAME
WITH energy AS (    -- summed as decimals: the same in whatever order
    SELECT site_id,
        sum(avoidable_kwh::DECIMAL(24, 6))::DOUBLE AS avoidable_kwh,
        (sum(avoidable_cost::DECIMAL(24, 6)) * 365)::DOUBLE / any_value(days) AS avoidable_cost
    FROM circuit_figures CROSS JOIN period
    GROUP BY site_id
), counts AS (
    SELECT site_id,
        count(*) FILTER (severity = 'critical') AS critical,
        count(*) FILTER (severity = 'high') AS high,
        count(*) FILTER (severity = 'medium') AS medium,
        count(*) FILTER (severity = 'low') AS low,
        bool_or(fix = 'on-site') AS visit_needed
    FROM findings WHERE status = 'open'
    GROUP BY site_id
), scored AS (
    SELECT site_id, avoidable_kwh, avoidable_cost,
        coalesce(critical, 0) AS critical, coalesce(high, 0) AS high,
        coalesce(medium, 0) AS medium, coalesce(low, 0) AS low,
        coalesce(visit_needed, false) AS visit_needed,
        coalesce(avoidable_cost, 0)
            + coalesce(critical, 0) * score_critical + coalesce(high, 0) * score_high
            + coalesce(medium, 0) * score_medium + coalesce(low, 0) * score_low AS score
    FROM sites LEFT JOIN energy USING (site_id) LEFT JOIN counts USING (site_id) CROSS JOIN portfolio
)
SELECT row_number() OVER (ORDER BY critical > 0 DESC, score DESC, site_id) AS rank, *
FROM scored
ORDER BY rank;
