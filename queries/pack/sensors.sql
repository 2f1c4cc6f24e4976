-- Every sensor in use at the sites of a pack.
SELECT site_id, sensor_id, kind, sensors.circuits, timeout_minutes, sensors.source_file, sensors.source_row
FROM sensors JOIN controllers USING (controller_id) JOIN report_sites USING (site_id)
WHERE coalesce(in_use, true)
ORDER BY site_id, sensors.source_row, sensor_id
