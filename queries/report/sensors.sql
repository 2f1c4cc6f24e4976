-- The sensors in use on circuits of the sites that have a page, one row for each circuit they act on.
WITH acting AS (
    SELECT sensor_id, kind, timeout_minutes, sensors.source_file, sensors.source_row, unnest(circuits) AS circuit_id
    FROM sensors JOIN controllers USING (controller_id) JOIN report_sites USING (site_id)
    WHERE coalesce(in_use, true)
)
FROM acting
ORDER BY circuit_id, source_row, sensor_id
