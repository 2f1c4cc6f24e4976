-- Dates that closures list for each site, in the audited period: before the export was read or after it, and which
-- circuits have steps of the date's calendar.
WITH programmed AS (
    SELECT DISTINCT site_id, calendar, circuit_id
    FROM e_steps JOIN e_circuits USING (circuit_id) WHERE calendar IS NOT NULL
), read AS (
    SELECT site_id, max(read_at_utc) AS read_at_utc FROM controllers GROUP BY site_id
)
SELECT asked.site_id, closures.date, calendar, closures.site_id = '*' AS every_site,
    coalesce(closures.date > local(timezone, read_at_utc)::DATE, false) AS after_reading,
    (SELECT list(circuit_id ORDER BY circuit_id) FROM programmed
     WHERE programmed.site_id = asked.site_id AND programmed.calendar = closures.calendar) AS circuits,
    closures.source_file, closures.source_row
FROM closures
JOIN (SELECT site_id, timezone FROM e_sites) AS asked ON closures.site_id IN (asked.site_id, '*')
JOIN site_days ON site_days.site_id = asked.site_id AND site_days.date = closures.date
LEFT JOIN read ON read.site_id = asked.site_id
ORDER BY asked.site_id, closures.date, closures.source_row
