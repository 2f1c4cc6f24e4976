-- sites.csv: every site, in the order in which somebody should go and look.
-- Words behind a column are its header in the workbook.
SELECT rank, site_id,
    round(score, 2) AS score,                       -- Score, higher is worse
    round(avoidable_kwh, 3) AS avoidable_kwh,       -- Avoidable energy, kWh in the period
    round(avoidable_cost, 2) AS avoidable_cost,     -- Avoidable cost, money a year
    critical,                                       -- Critical findings, open
    high,                                           -- High findings, open
    medium,                                         -- Medium findings, open
    low,                                            -- Low findings, open
    visit_needed
FROM site_ranks
ORDER BY rank
