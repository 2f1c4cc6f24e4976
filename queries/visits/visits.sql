-- visits.csv: every stop, in the order of the days.
SELECT day, date, crew, stop, site_id, name, address, arrive, leave, findings, bring, answered
FROM plan_stops JOIN sites USING (site_id)
ORDER BY day, crew, stop
