-- The sites of this batch and what belongs to them, numbered. Numbers sort as (site_id, controller_id, circuit_id).
-- Reads batch(first_site_no, last_site_no) and site_numbers(site_no, site_id).

CREATE OR REPLACE TEMP TABLE b_sites AS
WITH zone_starts AS (   -- 00:00 of the first date, and 00:00 after the last, on every clock
    SELECT
        reach.clock_no,
        min(greatest(reach.local_day * 86400 - offset_s, reach.not_before_s))
            FILTER (local_day = epoch_day(first_date)) AS start_s,
        min(greatest(reach.local_day * 86400 - offset_s, reach.not_before_s))
            FILTER (local_day = epoch_day(first_date) + days) AS end_s
    FROM clock_reach AS reach CROSS JOIN period
    WHERE local_day * 86400 >= from_local_s AND local_day * 86400 < until_local_s
    GROUP BY reach.clock_no
)
SELECT
    numbers.site_no, sites.site_id, clocks.clock_no, start_s, end_s,
    start_s + 366 * 86400 AS step_horizon_s,   -- a step that has not fired by then never does
    latitude, longitude, site_no AS place_no,
    sites.site_id IN (SELECT site_id FROM hours) AS hours_known
FROM batch
JOIN site_numbers AS numbers ON site_no BETWEEN first_site_no AND last_site_no
JOIN sites USING (site_id)
JOIN clocks ON clock = timezone
JOIN zone_starts USING (clock_no);

CREATE OR REPLACE TEMP TABLE b_closures AS   -- those of all sites among them
SELECT site_no, epoch_day(date) AS local_day, calendar FROM closures JOIN b_sites USING (site_id)
UNION ALL
SELECT site_no, epoch_day(date), calendar FROM closures CROSS JOIN b_sites WHERE closures.site_id = '*';

CREATE OR REPLACE TEMP TABLE b_controllers AS
SELECT
    row_number() OVER (ORDER BY site_no, controller_id)::INTEGER AS controller_no,
    controller_id, site_no, device_clocks.clock_no, residual_s, controllers.hold,
    controllers.latitude AS device_latitude, controllers.longitude AS device_longitude,
    -- A device with a location of its own has a place of its own, numbered below zero.
    CASE WHEN device_latitude IS NULL THEN place_no ELSE -controller_no END AS place_no,
    device_latitude IS NOT NULL
        AND controller_id IN (SELECT controller_id FROM events WHERE anchor <> 'clock') AS located
FROM controllers
JOIN b_sites USING (site_id)
JOIN device_clocks USING (controller_id);

CREATE OR REPLACE TEMP TABLE b_sensors AS
SELECT
    -row_number() OVER (ORDER BY controller_no, sensor_id)::INTEGER AS sensor_no,
    sensor_id, controller_no, kind, circuits
FROM sensors JOIN b_controllers USING (controller_id)
WHERE coalesce(in_use, true);

CREATE OR REPLACE TEMP TABLE b_circuits AS
SELECT
    row_number() OVER (ORDER BY controller_no, circuit_id)::INTEGER AS circuit_no,
    circuit_id, controller_no, site_no, area, connected_watts, must_be_lit,
    coalesce(combine, 'any') AS combine,
    coalesce(circuits.hold, b_controllers.hold) AS hold
FROM circuits JOIN b_controllers USING (controller_id)
WHERE coalesce(in_use, true);

CREATE OR REPLACE TEMP TABLE b_sensed AS   -- which sensor in use acts on which circuit in use
SELECT circuit_no, sensor_no, kind
FROM (SELECT sensor_no, kind, unnest(circuits) AS circuit_id FROM b_sensors)
JOIN b_circuits USING (circuit_id);

-- Steps, one row a target in use. Circuits have numbers above zero, sensors below.
CREATE OR REPLACE TEMP TABLE b_steps AS
WITH targeted AS (
    SELECT *, unnest(targets) AS target_id FROM events JOIN b_controllers USING (controller_id)
), owned AS (
    SELECT targeted.*, coalesce(circuit_no, sensor_no) AS target_no
    FROM targeted
    LEFT JOIN b_circuits AS circuit
        ON action IN ('on', 'off', 'level') AND circuit.controller_no = targeted.controller_no AND circuit_id = target_id
    LEFT JOIN b_sensors AS sensor
        ON action IN ('suspend', 'resume') AND sensor.controller_no = targeted.controller_no AND sensor_id = target_id
    WHERE target_no IS NOT NULL
)
SELECT
    row_number() OVER (ORDER BY controller_no, row_no, target_no)::INTEGER AS step_no,
    event_id, controller_no, site_no, clock_no, residual_s, place_no, target_no, row_no AS program_order,
    CASE action WHEN 'on' THEN 100 WHEN 'off' THEN 0 WHEN 'level' THEN level
                WHEN 'suspend' THEN 0 WHEN 'resume' THEN 100 END AS level,   -- of a sensor: 0 = out of service
    days_mask, anchor, time_s, coalesce(offset_s, 0) AS offset_s, calendar,
    -- A season is kept as numbers that sort: MMDD for every year, YYYYMMDD for dates.
    replace(season_from, '-', '')::INTEGER AS season_from, replace(season_until, '-', '')::INTEGER AS season_until
FROM owned;

-- The dates on a device's clock for which a step must be looked at. Only what fired last before the period counts.
-- A steady step is sure to have fired within a week (by the sun: within three, on any weekday, should a wrong offset
-- keep a solar noon off some date); so is the end of a suspension that a steady step resumes. All else looks back
-- 366 days.
CREATE OR REPLACE TEMP TABLE b_step_days AS
WITH steadiness AS (
    SELECT step_no, target_no, level,
        season_from IS NULL
        AND NOT bool_or(calendar IS NOT NULL) OVER (PARTITION BY target_no)
        AND (anchor = 'clock' OR abs(coalesce(device_latitude, latitude)) <= 60) AS steady
    FROM b_steps JOIN b_controllers USING (controller_no) JOIN b_sites ON b_sites.site_no = b_steps.site_no
), lookback AS (
    SELECT step_no,
        steady AND (target_no > 0 OR bool_or(steady AND level = 100) OVER (PARTITION BY target_no)) AS short
    FROM steadiness
)
SELECT
    step_no,
    floor_day(start_s + residual_s) - slack
        - CASE WHEN NOT short THEN 366 WHEN anchor = 'clock' THEN 7 ELSE 21 END AS first_day,
    floor_day(greatest(end_s, step_horizon_s) + residual_s) + slack AS last_day
FROM (
    SELECT *, 2 + abs(offset_s) // 86400 AS slack
    FROM b_steps JOIN lookback USING (step_no) JOIN b_sites USING (site_no)
);
