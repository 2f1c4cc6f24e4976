-- The programs of the sites that have a page: one row for each step and target, in program order.
SELECT events.* EXCLUDE (targets), unnest(targets) AS target, action IN ('suspend', 'resume') AS for_sensor
FROM events JOIN controllers USING (controller_id) JOIN report_sites USING (site_id)
ORDER BY for_sensor, target, events.row_no
