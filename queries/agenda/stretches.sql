-- When circuits of a controller, or of a site, are programmed on: one row a stretch of one level.
SELECT controller_id, timeline.circuit_id, circuits.name, area, start_utc, end_utc, level, read_at_utc
FROM timeline
JOIN circuits USING (circuit_id)
JOIN controllers USING (controller_id)
WHERE level > 0 AND (controller_id = $controller OR site_id = $site)
ORDER BY controller_id, circuit_id, start_utc
