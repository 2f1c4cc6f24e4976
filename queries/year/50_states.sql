-- What each circuit does: stretches of one state, the whole period without gaps.

CREATE OR REPLACE TEMP TABLE b_service AS   -- sensors: when each leaves service and comes back
WITH ordered AS (
    SELECT target_no AS sensor_no, at_s, step_no, level = 0 AS suspended,
        lead(at_s) OVER w AS next_s, lag(suspended) OVER w AS was_suspended
    FROM b_firings WHERE target_no < 0
    WINDOW w AS (PARTITION BY target_no ORDER BY at_s, program_order)
), lasting AS (   -- of steps at one instant the last counts
    SELECT sensor_no, at_s, step_no, suspended, coalesce(lag(suspended) OVER w, false) AS was_suspended
    FROM ordered WHERE next_s IS NULL OR next_s > at_s
    WINDOW w AS (PARTITION BY sensor_no ORDER BY at_s)
)
SELECT sensor_no, at_s, step_no, suspended FROM lasting WHERE suspended <> was_suspended;

CREATE OR REPLACE TEMP TABLE b_suspensions AS
SELECT sensor_no, step_no, at_s AS start_s, least(coalesce(next_s, end_s), end_s) AS stop_s
FROM (SELECT *, lead(at_s) OVER (PARTITION BY sensor_no ORDER BY at_s) AS next_s FROM b_service)
JOIN b_sensors USING (sensor_no)
JOIN b_controllers USING (controller_no)
JOIN b_sites USING (site_no)
WHERE suspended AND coalesce(next_s, end_s) > start_s AND at_s < end_s;

CREATE OR REPLACE TEMP TABLE b_running AS   -- circuits that run a program, with what they run on
SELECT circuit_no, site_no, combine,
    count(sensor_no) FILTER (kind = 'photocontrol') AS photocontrols,
    count(sensor_no) FILTER (kind = 'occupancy') AS detectors,
    circuit_no IN (SELECT target_no FROM b_steps) AS has_steps
FROM b_circuits LEFT JOIN b_sensed USING (circuit_no)
WHERE hold IS NULL
GROUP BY circuit_no, site_no, combine;

-- What a circuit with sensors depends on, each carried on from its last change. No two changes of a circuit have both
-- instant and turn in common (steps: program order; light: -1; sensors: below): else their order would be chance.
CREATE OR REPLACE TEMP TABLE b_sensed_levels AS
WITH changes AS (
    SELECT circuit_no, -9e15::BIGINT AS at_s, 0 AS turn,
        CASE WHEN combine = 'all' AND NOT has_steps THEN 100.0 ELSE 0.0 END AS program_level, true AS dark,
        photocontrols AS photo_change, detectors AS detector_change, NULL::INTEGER AS step_no
    FROM b_running WHERE photocontrols + detectors > 0
    UNION ALL
    SELECT target_no, at_s, program_order, level, NULL, 0, 0, step_no
    FROM b_firings JOIN b_running ON target_no = circuit_no WHERE photocontrols + detectors > 0
    UNION ALL
    SELECT circuit_no, unnest([start_s, end_s]), -1, NULL, unnest([false, true]), 0, 0, NULL
    FROM b_light JOIN b_running USING (site_no) WHERE photocontrols > 0
    UNION ALL
    SELECT circuit_no, at_s, sensor_no - 1, NULL, NULL,
        CASE kind WHEN 'photocontrol' THEN 1 ELSE 0 END * CASE WHEN suspended THEN -1 ELSE 1 END,
        CASE kind WHEN 'occupancy' THEN 1 ELSE 0 END * CASE WHEN suspended THEN -1 ELSE 1 END, NULL
    FROM b_service JOIN b_sensed USING (sensor_no)
), carried AS (   -- sums as DOUBLE: exact for such small counts, and several times faster than whole numbers
    SELECT circuit_no, at_s, turn, step_no AS fired_no, last_value(step_no IGNORE NULLS) OVER w AS step_no,
        last_value(program_level IGNORE NULLS) OVER w AS program_level,
        last_value(dark IGNORE NULLS) OVER w AS dark,
        sum(photo_change::DOUBLE) OVER w AS photo_in_service,
        sum(detector_change::DOUBLE) OVER w AS detectors_in_service
    FROM changes
    WINDOW w AS (PARTITION BY circuit_no ORDER BY at_s, turn ROWS UNBOUNDED PRECEDING)
), called AS (
    SELECT circuit_no, at_s, turn, fired_no, step_no, combine, detectors_in_service > 0 AS watched,
        CASE
            WHEN combine = 'any' AND dark AND photo_in_service > 0 THEN 100.0
            WHEN combine = 'all' AND NOT dark AND photo_in_service > 0 THEN 0.0
            ELSE program_level
        END AS called_level
    FROM carried JOIN b_running USING (circuit_no)
)
SELECT circuit_no, at_s, turn, fired_no, step_no,
    -- in parallel somebody may switch it on, in series only somebody keeps it on
    watched AND (called_level > 0) = (combine = 'all') AS conditional,
    CASE WHEN conditional THEN 0.0 ELSE called_level END AS level
FROM called;

-- step_no: the step that last fired on the circuit when the stretch began; end_step_no: the step that ends it, NULL
-- where light or a sensor does.
CREATE OR REPLACE TEMP TABLE b_states AS
WITH moments AS (
    SELECT circuit_no, at_s, turn, level, conditional, fired_no, step_no FROM b_sensed_levels
    UNION ALL
    SELECT circuit_no, at_s, program_order, level, false, step_no, step_no
    FROM b_firings JOIN b_running ON target_no = circuit_no WHERE photocontrols + detectors = 0
    UNION ALL
    SELECT circuit_no, -9e15::BIGINT, 0, CASE WHEN combine = 'all' AND NOT has_steps THEN 100.0 ELSE 0.0 END, false,
        NULL, NULL
    FROM b_running WHERE photocontrols + detectors = 0
    UNION ALL
    SELECT circuit_no, -9e15::BIGINT, 0, CASE hold WHEN 'on' THEN 100.0 ELSE 0.0 END, false, NULL, NULL
    FROM b_circuits WHERE hold IS NOT NULL
), lasting AS (    -- of what happens at one instant the last counts, and of what happened before the period
    SELECT circuit_no, greatest(at_s, b_sites.start_s) AS start_s, level, conditional, end_s, fired_no, step_no
    FROM (SELECT *, lead(at_s) OVER (PARTITION BY circuit_no ORDER BY at_s, turn) AS next_s FROM moments) AS moments
    JOIN b_circuits USING (circuit_no)
    JOIN b_sites USING (site_no)
    WHERE coalesce(next_s, end_s) > greatest(at_s, b_sites.start_s) AND at_s < end_s
), changed AS (    -- a stretch begins where the state differs from the one before
    SELECT circuit_no, start_s, end_s, level, conditional, fired_no, step_no, level_before FROM (
        SELECT *, lag(level) OVER w AS level_before, lag(conditional) OVER w AS conditional_before
        FROM lasting
        WINDOW w AS (PARTITION BY circuit_no ORDER BY start_s)
    )
    WHERE level_before IS NULL OR level <> level_before OR conditional <> conditional_before
)
SELECT circuit_no, start_s, lead(start_s, 1, end_s) OVER w AS end_s, level, conditional,
    step_no, lead(fired_no) OVER w AS end_step_no,
    level = 0 AND level_before > 0 AS turned_off
FROM changed
WINDOW w AS (PARTITION BY circuit_no ORDER BY start_s);
