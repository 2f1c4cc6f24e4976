-- The sensors in use on these circuits, one row for each circuit they act on.
WITH acting AS (
    SELECT sensor_id, kind, timeout_minutes, source_row, unnest(circuits) AS circuit_id
    FROM sensors WHERE coalesce(in_use, true)
)
SELECT acting.* FROM acting
WHERE circuit_id IN (SELECT circuit_id FROM report_circuits)
ORDER BY circuit_id, source_row, sensor_id
