-- The program of these circuits and of the sensors on them: one row for each step and target, in program order.
WITH targeted AS (
    SELECT * EXCLUDE (targets), unnest(targets) AS target, action IN ('suspend', 'resume') AS for_sensor FROM events
), acting AS (
    SELECT sensor_id, unnest(circuits) AS circuit_id FROM sensors
)
SELECT * FROM targeted
WHERE NOT for_sensor AND target IN (SELECT circuit_id FROM report_circuits)
   OR for_sensor AND target IN (SELECT sensor_id FROM acting JOIN report_circuits USING (circuit_id))
ORDER BY for_sensor, target, source_file, source_row
