-- The sites that have a page in the order of their rank, with their figures and how much of them is known.
WITH known AS (
    SELECT site_id, count(*) AS circuits, count(avoidable_kwh) AS circuits_with_avoidable
    FROM circuit_figures GROUP BY site_id
), unseen AS (
    SELECT site_id, count(*) AS not_evaluated FROM not_evaluated GROUP BY site_id
), files AS (       -- rows of the site that were left out
    SELECT site_id, source_file, count(DISTINCT source_row) AS lost,
        array_to_string(list_slice(list(DISTINCT source_row ORDER BY source_row), 1, 12), ', ') AS shown_rows
    FROM rejected WHERE site_id IS NOT NULL GROUP BY site_id, source_file
), losses AS (
    SELECT site_id, sum(lost)::BIGINT AS rows_lost,
        string_agg(source_file || ' ' || shown_rows || CASE WHEN lost > 12 THEN ' …' ELSE '' END, '; ' ORDER BY source_file)
            AS lost_where
    FROM files GROUP BY site_id
), listed AS (      -- those of all sites among them
    SELECT site_id, date, calendar FROM closures JOIN report_sites USING (site_id)
    UNION ALL
    SELECT report_sites.site_id, date, calendar FROM closures CROSS JOIN report_sites WHERE closures.site_id = '*'
), closed_dates AS (
    SELECT site_id, count(DISTINCT date) AS closure_dates,
        string_agg(DISTINCT calendar, ', ' ORDER BY calendar) AS calendars
    FROM listed CROSS JOIN period
    WHERE date >= first_date AND date < first_date + days
    GROUP BY site_id
)
SELECT site_ranks.*, sites.* EXCLUDE (site_id, energy_code, rate_per_kwh),
    coalesce(sites.energy_code, portfolio.energy_code) AS energy_code,
    coalesce(sites.rate_per_kwh, portfolio.rate_per_kwh) AS rate_per_kwh,
    coalesce(circuits, 0) AS circuits, coalesce(circuits_with_avoidable, 0) AS circuits_with_avoidable,
    coalesce(not_evaluated, 0) AS not_evaluated,
    coalesce(closure_dates, 0) AS closure_dates, calendars,
    coalesce(rows_lost, 0) AS rows_lost, lost_where
FROM site_ranks
JOIN sites USING (site_id)
JOIN report_sites USING (site_id)
CROSS JOIN portfolio
LEFT JOIN known USING (site_id)
LEFT JOIN unseen USING (site_id)
LEFT JOIN closed_dates USING (site_id)
LEFT JOIN losses USING (site_id)
ORDER BY rank
