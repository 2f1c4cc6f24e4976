-- Circuits and sensors that the export has and marks as not in use: in no item, sum or program, and not gone either.
WITH unused AS (
    SELECT controller_id, 'circuit' AS kind, circuit_id AS id, name, area, connected_watts, source_file, source_row
    FROM circuits WHERE NOT coalesce(in_use, true)
    UNION ALL BY NAME
    SELECT controller_id, if(kind = 'occupancy', 'occupancy sensor', kind) AS kind, sensor_id AS id, source_file, source_row
    FROM sensors WHERE NOT coalesce(in_use, true)
)
SELECT site_id, kind, id, controller_id, unused.name, area, connected_watts, unused.source_file, unused.source_row
FROM unused JOIN controllers USING (controller_id) JOIN report_sites USING (site_id)
ORDER BY site_id, kind, unused.source_row, id
