-- Dates that closures list for each site, in the audited period: before the export was read or after it, and which
-- circuits have steps of the date's calendar.
WITH programmed AS (
    SELECT DISTINCT site_id, calendar, circuit_id
    FROM e_steps JOIN e_circuits USING (circuit_id) WHERE calendar IS NOT NULL
), read AS (
    SELECT site_id, max(read_at_utc) AS read_at_utc FROM controllers GROUP BY site_id
)
SELECT site_id, date, calendar, every_site,
    coalesce(date > local(timezone, read_at_utc)::DATE, false) AS after_reading,
    (SELECT list(circuit_id ORDER BY circuit_id) FROM programmed
     WHERE programmed.site_id = listed.site_id AND programmed.calendar = listed.calendar) AS circuits,
    source_file, source_row
FROM e_closures AS listed
JOIN (SELECT site_id, timezone FROM e_sites) AS asked USING (site_id)
LEFT JOIN read USING (site_id)
ORDER BY site_id, date, source_row
