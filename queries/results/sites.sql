-- sites.csv: every site, in the order in which somebody should go and look.
SELECT rank, cell(site_id) AS site_id, round(score, 2) AS score,
    round(avoidable_kwh, 3) AS avoidable_kwh, round(avoidable_cost, 2) AS avoidable_cost,
    critical, high, medium, low, visit_needed
FROM site_ranks
ORDER BY rank
