-- What each circuit does: stretches of one state, the whole period without gaps.
-- Sorting costs most, so it is done once. OVER () takes the rows as they stand in a table made with ORDER BY: lag and
-- lead look at the neighbours there, and a running value goes on until the next one.

CREATE OR REPLACE TEMP TABLE b_service AS   -- sensors: when each leaves service and comes back
WITH lasting AS (   -- of steps at one instant the last counts
    SELECT target_no AS sensor_no, at_s, step_no, level = 0 AS suspended FROM (
        SELECT *, target_no = lead(target_no) OVER () AND at_s = lead(at_s) OVER () AS overruled
        FROM b_firings WHERE target_no < 0
    )
    WHERE overruled IS NOT true
), compared AS (
    SELECT *, sensor_no = lag(sensor_no) OVER () AND lag(suspended) OVER () AS was_suspended FROM lasting
)
SELECT sensor_no, at_s, step_no, suspended FROM compared WHERE suspended <> coalesce(was_suspended, false);

CREATE OR REPLACE TEMP TABLE b_suspensions AS
WITH stretches AS (
    SELECT *, CASE WHEN sensor_no = lead(sensor_no) OVER () THEN lead(at_s) OVER () END AS next_s FROM b_service
)
SELECT sensor_no, step_no, at_s AS start_s, least(coalesce(next_s, end_s), end_s) AS stop_s
FROM stretches
JOIN b_sensors USING (sensor_no)
JOIN b_controllers USING (controller_no)
JOIN b_sites USING (site_no)
WHERE suspended AND coalesce(next_s, end_s) > start_s AND at_s < end_s;

CREATE OR REPLACE TEMP TABLE b_running AS   -- what each circuit runs on; by hand, on nothing
SELECT circuit_no, b_circuits.site_no, hold, combine = 'all' AS in_series, start_s, end_s,
    count(*) FILTER (hold IS NULL AND kind = 'photocontrol')::INTEGER AS photocontrols,
    count(*) FILTER (hold IS NULL AND kind = 'occupancy')::INTEGER AS detectors,
    CASE hold WHEN 'on' THEN 100.0 WHEN 'off' THEN 0.0
        ELSE CASE WHEN combine = 'all' AND circuit_no NOT IN (SELECT target_no FROM b_steps) THEN 100.0 ELSE 0.0 END
    END AS first_level
FROM b_circuits JOIN b_sites USING (site_no) LEFT JOIN b_sensed USING (circuit_no)
GROUP BY ALL;

-- All that a circuit depends on, change by change: its program, whether it is dark, how many of its sensors are in
-- service. No two changes of a circuit have both instant and turn in common (steps: program order; light: -1; sensors:
-- below): else their order would be chance.
CREATE OR REPLACE TEMP TABLE b_changes AS
WITH changes AS (
    SELECT circuit_no, -9e15::BIGINT AS at_s, 0 AS turn, 0 AS step_no, first_level AS program_level,
        true AS dark, 0 AS photo_change, 0 AS detector_change
    FROM b_running
    UNION ALL
    SELECT target_no, at_s, program_order, step_no, level, NULL, 0, 0 FROM b_firings WHERE target_no > 0
    UNION ALL
    SELECT circuit_no, unnest([b_light.start_s, b_light.end_s]), -1, NULL, NULL, unnest([false, true]), 0, 0
    FROM b_light JOIN b_running USING (site_no) WHERE photocontrols > 0
    UNION ALL
    SELECT circuit_no, at_s, sensor_no - 1, NULL, NULL, NULL,
        (kind = 'photocontrol')::INTEGER * CASE WHEN suspended THEN -1 ELSE 1 END,
        (kind = 'occupancy')::INTEGER * CASE WHEN suspended THEN -1 ELSE 1 END
    FROM b_service JOIN b_sensed USING (sensor_no)
)
SELECT changes.*, in_series, photocontrols, detectors, start_s, end_s
FROM changes JOIN b_running USING (circuit_no)
WHERE at_s < end_s AND (hold IS NULL OR at_s < -8e15)   -- what is held by hand does what it did at the beginning
ORDER BY circuit_no, at_s, turn;

-- step_no: the step that last fired on the circuit when the stretch began; end_step_no: the step that ends it, NULL
-- where light or a sensor does.
CREATE OR REPLACE TEMP TABLE b_states AS
WITH carried AS (   -- each value goes on until the next; sums run through all circuits
    SELECT circuit_no, at_s, start_s, end_s, in_series, photocontrols, detectors, step_no AS fired_no,
        last_value(step_no IGNORE NULLS) OVER so_far AS last_no,
        last_value(program_level IGNORE NULLS) OVER so_far AS program_level,
        last_value(dark IGNORE NULLS) OVER so_far AS dark,
        sum(photo_change::DOUBLE) OVER so_far AS photo_sum,
        sum(detector_change::DOUBLE) OVER so_far AS detector_sum
    FROM b_changes WINDOW so_far AS (ROWS UNBOUNDED PRECEDING)
), counted AS (     -- less what they were when this circuit began
    SELECT *,
        photocontrols + photo_sum - last_value(CASE WHEN at_s < -8e15 THEN photo_sum END IGNORE NULLS) OVER so_far
            > 0 AS photo_in_service,
        detectors + detector_sum - last_value(CASE WHEN at_s < -8e15 THEN detector_sum END IGNORE NULLS) OVER so_far
            > 0 AS watched
    FROM carried WINDOW so_far AS (ROWS UNBOUNDED PRECEDING)
), called AS (
    SELECT *, CASE
            WHEN dark AND photo_in_service AND NOT in_series THEN 100.0
            WHEN NOT dark AND photo_in_service AND in_series THEN 0.0
            ELSE program_level
        END AS called_level
    FROM counted
), told AS (
    SELECT circuit_no, at_s, start_s, end_s, fired_no, last_no,
        -- in parallel somebody may switch it on, in series only somebody keeps it on
        watched AND (called_level > 0) = in_series AS conditional,
        CASE WHEN conditional THEN 0.0 ELSE called_level END AS level,
        CASE WHEN circuit_no = lead(circuit_no) OVER () THEN lead(at_s) OVER () ELSE end_s END AS next_s
    FROM called
), compared AS (    -- of what happens at one instant the last counts, and of what happened before the period
    SELECT *, CASE WHEN circuit_no = lag(circuit_no) OVER () THEN lag(level) OVER () END AS level_before,
        lag(conditional) OVER () AS conditional_before
    FROM told WHERE next_s > greatest(at_s, start_s)
), changed AS (     -- a stretch begins where the state differs from the one before
    SELECT circuit_no, greatest(at_s, start_s) AS start_s, end_s, level, conditional, level_before,
        nullif(fired_no, 0) AS fired_no, nullif(last_no, 0) AS step_no
    FROM compared
    WHERE level_before IS NULL OR level <> level_before OR conditional <> conditional_before
)
SELECT circuit_no, start_s,
    CASE WHEN circuit_no = lead(circuit_no) OVER () THEN lead(start_s) OVER () ELSE end_s END AS end_s,
    level, conditional, step_no,
    CASE WHEN circuit_no = lead(circuit_no) OVER () THEN lead(fired_no) OVER () END AS end_step_no,
    level = 0 AND level_before > 0 AS turned_off
FROM changed;
