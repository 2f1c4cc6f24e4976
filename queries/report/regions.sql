-- The sites of each region, for crews.
SELECT region, count(*) AS sites,
    count(*) FILTER (critical + high + medium + low > 0) AS sites_with_open,
    sum(critical)::BIGINT AS critical, sum(high)::BIGINT AS high, sum(medium)::BIGINT AS medium, sum(low)::BIGINT AS low,
    count(*) FILTER (visit_needed) AS visits,
    sum(avoidable_kwh::DECIMAL(24, 6))::DOUBLE AS avoidable_kwh,
    sum(avoidable_cost::DECIMAL(24, 6))::DOUBLE AS avoidable_cost,
    min(rank) AS first_rank
FROM site_ranks JOIN sites USING (site_id)
GROUP BY region
ORDER BY first_rank
