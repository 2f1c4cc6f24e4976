-- What the log of one day needs, from the session in which the site's year was computed; one row an event.
-- kind: firing (a step on a target), state (of a circuit), service (of a sensor), light and open (of the site).

WITH names AS (
    SELECT circuit_no AS target_no, 'circuit' AS subject_kind, circuit_id AS subject_id, controller_no FROM b_circuits
    UNION ALL
    SELECT sensor_no, 'sensor', sensor_id, controller_no FROM b_sensors
), events AS (
    SELECT 'firing' AS kind, at_s, target_no, level, NULL::BOOLEAN AS flag, step_no FROM b_firings
    UNION ALL
    SELECT 'state', start_s, circuit_no, level, conditional, NULL FROM b_states
    UNION ALL
    SELECT 'service', at_s, sensor_no, NULL, NOT suspended, NULL FROM b_service
    UNION ALL
    SELECT 'light', unnest([start_s, end_s]), NULL, NULL, unnest([true, false]), NULL FROM b_light
    UNION ALL
    SELECT 'open', unnest([start_s, end_s]), NULL, NULL, unnest([true, false]), NULL FROM b_merged WHERE kind = 'open'
)
SELECT kind, at_s, subject_kind, subject_id, events.level, flag, event_id, program_order
FROM events
LEFT JOIN names USING (target_no)
LEFT JOIN b_steps USING (step_no)
ORDER BY at_s, kind, program_order, subject_kind, subject_id
