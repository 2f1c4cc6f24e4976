--: name = "sensor-acts-on-nothing"
--: title = "Sensor acts on nothing"
--: severity = "low"
--: subject = "sensor"
--: needs = []
--: fix = "on-site"
--: who = "qualified electrician"
--
-- What goes wrong. A circuit was taken out of use or moved, and its sensor still stands in the set-up; or a sensor was
-- never assigned.
-- Why it matters. Somebody believes that it works. It hides which sensor switches what.
-- On site. Cover or trip the sensor and see what follows.
-- What good looks like. Every sensor in use acts on a circuit in use, and the drawing says which.
-- Source: common practice, no source.

WITH scope AS (
    SELECT site_id, sensor_id, kind, circuits
    FROM sensors JOIN controllers USING (controller_id)
    WHERE coalesce(in_use, true)
), acting AS (
    SELECT DISTINCT sensor_id
    FROM (SELECT sensor_id, unnest(circuits) AS circuit_id FROM scope) JOIN circuits USING (circuit_id)
    WHERE coalesce(in_use, true)
)
SELECT site_id, 'sensor' AS subject_kind, sensor_id AS subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, NULL::DATE AS first_date, NULL::DATE AS last_date,
    format('This {} acts on no circuit in use.', CASE kind WHEN 'occupancy' THEN 'occupancy sensor' ELSE kind END) AS summary,
    CASE WHEN len(circuits) > 0
        THEN format('It is assigned to {}, out of use.', array_to_string(circuits, ', '))
        ELSE 'No circuit is assigned to it.'
    END AS seen,
    'Find out what it should act on: assign it, or have it taken out of the set-up.' AS remedy,
    NULL AS missing
FROM scope ANTI JOIN acting USING (sensor_id)
ORDER BY site_id, subject_id
