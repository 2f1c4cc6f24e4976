-- Every site in the order of its rank, with its figures and how much of them is known.
WITH known AS (
    SELECT site_id, count(*) AS circuits, count(avoidable_kwh) AS circuits_with_avoidable
    FROM circuit_figures GROUP BY site_id
), unseen AS (
    SELECT site_id, count(*) AS not_evaluated FROM not_evaluated GROUP BY site_id
), closed_dates AS (
    SELECT sites.site_id, count(DISTINCT date) AS closure_dates,
        string_agg(DISTINCT calendar, ', ' ORDER BY calendar) AS calendars
    FROM sites JOIN closures ON closures.site_id IN (sites.site_id, '*') CROSS JOIN period
    WHERE date >= first_date AND date < first_date + days
    GROUP BY sites.site_id
)
SELECT site_ranks.*, sites.* EXCLUDE (site_id, energy_code, rate_per_kwh),
    coalesce(sites.energy_code, portfolio.energy_code) AS energy_code,
    coalesce(sites.rate_per_kwh, portfolio.rate_per_kwh) AS rate_per_kwh,
    coalesce(circuits, 0) AS circuits, coalesce(circuits_with_avoidable, 0) AS circuits_with_avoidable,
    coalesce(not_evaluated, 0) AS not_evaluated,
    coalesce(closure_dates, 0) AS closure_dates, calendars
FROM site_ranks
JOIN sites USING (site_id)
CROSS JOIN portfolio
LEFT JOIN known USING (site_id)
LEFT JOIN unseen USING (site_id)
LEFT JOIN closed_dates USING (site_id)
ORDER BY rank
