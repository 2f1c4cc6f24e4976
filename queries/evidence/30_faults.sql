-- Why an export is no sound base for what it seems to show: one row a fault. Taken from the tables themselves and not
-- from findings, so that no waiver and no rule that is switched off hides one.

CREATE OR REPLACE TEMP TABLE e_faults (
    site_id VARCHAR,
    controller_id VARCHAR,               -- NULL: the whole site
    circuit_id VARCHAR,                  -- NULL: every circuit of the device
    -- stale, clock, unread (its clock), location, sensor, hold, conflict, steps, rows
    fault VARCHAR,
    words VARCHAR,
    at_utc TIMESTAMP,                    -- when it begins, where it has a time
    source_file VARCHAR, source_row BIGINT
);

INSERT INTO e_faults BY NAME
WITH ages AS (
    SELECT controllers.*, coalesce(last_contact_utc, read_at_utc) AS heard_utc, newest_read_at_utc,
        coalesce(threshold('stale-export', 'age_days'), 35) AS age_days
    FROM controllers JOIN e_sites USING (site_id) CROSS JOIN period
)
SELECT site_id, controller_id, 'stale' AS fault, heard_utc AS at_utc, source_file, source_row,
    format('device {} was last heard from on {}, {} before the newest reading', controller_id,
        strftime(heard_utc, '%-d %B %Y'), number_words(floor(seconds(heard_utc, newest_read_at_utc) / 86400)::BIGINT,
            'day')) AS words
FROM ages WHERE seconds(heard_utc, newest_read_at_utc) > age_days * 86400;

INSERT INTO e_faults BY NAME
WITH wrong AS (      -- a device that is wrong on whole dates, with the hours before and after these, too
    SELECT controller_id, site_id, source_file, source_row, start_utc, error_s,
        local(timezone, start_utc) AS from_local, local(timezone, end_utc) AS until_local,
        row_number() OVER (PARTITION BY controller_id ORDER BY start_utc) AS place,
        bool_or(whole_dates > 0) OVER (PARTITION BY controller_id) AS whole
    FROM (SELECT clock_errors.* EXCLUDE (controller_id), controller_id AS device FROM clock_errors) AS clock_errors
    JOIN controllers ON controller_id = device
    JOIN (SELECT site_id, timezone FROM e_sites) AS asked USING (site_id)
    WHERE abs(error_s) > 300
), told AS (
    SELECT site_id, controller_id, source_file, source_row, min(start_utc) AS at_utc, count(*) AS stretches,
        string_agg(format('{} local time from {} to {}', error_words(error_s), when_local(from_local),
            end_words(from_local, until_local)), ', ' ORDER BY place) FILTER (place <= 4) AS stretches_words,
        bool_and(abs(abs(error_s) - 3600) <= 300) AS by_an_hour, bool_and(abs(abs(error_s) - 43200) <= 300) AS by_half_a_day
    FROM wrong WHERE whole GROUP BY site_id, controller_id, source_file, source_row
)
SELECT site_id, controller_id, 'clock' AS fault, at_utc, source_file, source_row,
    format('the clock of device {} shows {}{}{}', controller_id, stretches_words,
        CASE WHEN stretches > 4 THEN ', and is wrong later, too' ELSE '' END,
        CASE WHEN by_an_hour THEN ' (suspect daylight saving time)'
             WHEN by_half_a_day THEN ' (suspect AM and PM)' ELSE '' END) AS words
FROM told;

INSERT INTO e_faults BY NAME
SELECT site_id, controller_id, 'unread' AS fault, source_file, source_row,
    format('the clock of device {} was not read', controller_id) AS words
FROM controllers JOIN (SELECT site_id FROM e_sites) AS asked USING (site_id)
WHERE clock_reading_local IS NULL AND controller_id NOT IN (SELECT controller_id FROM e_faults WHERE fault = 'clock');

-- The sun of another place, for every circuit that a step of the sun moves, itself or by a sensor of it.
INSERT INTO e_faults BY NAME
WITH by_sun AS (
    SELECT circuit_id, controller_id FROM e_circuits WHERE by_sun
    UNION
    SELECT circuit_id, controller_id
    FROM e_acting JOIN (SELECT controller_id, unnest(targets) AS sensor_id FROM events WHERE anchor <> 'clock') USING
        (sensor_id)
), shifts AS (
    SELECT controller_id, kind, abs(unnest(shifts_s)) AS shift_s FROM sun_shifts
), moved AS (
    SELECT controller_id, kind, max(shift_s) AS most_s FROM shifts GROUP BY controller_id, kind
    HAVING count(*) FILTER (shift_s > coalesce(threshold('sun-location-off', 'shift_minutes'), 5) * 60)
        > coalesce(threshold('sun-location-off', 'date_share'), 0.1) * count(*)
    QUALIFY row_number() OVER (PARTITION BY controller_id ORDER BY most_s DESC, kind) = 1
)
SELECT site_id, controller_id, circuit_id, 'location' AS fault, controllers.source_file, controllers.source_row,
    format('the location set in device {} moves {} by up to {}', controller_id, kind,
        minutes_words(most_s / 60)) AS words
FROM by_sun JOIN moved USING (controller_id) JOIN controllers USING (controller_id);

INSERT INTO e_faults BY NAME
SELECT site_id, e_circuits.controller_id, circuit_id, 'sensor' AS fault, first_utc AS at_utc,
    coalesce(events.source_file, sensors.source_file) AS source_file,
        coalesce(events.source_row, sensors.source_row) AS source_row,
    format('{} {} is left out of service, the longest time {}', sensors.kind, sensor_id,
        dates_words(local(timezone, longest.starts), local(timezone, longest.ends))) AS words
FROM e_suspended JOIN e_acting USING (sensor_id) JOIN sensors USING (sensor_id) JOIN e_circuits USING (circuit_id)
LEFT JOIN events ON events.controller_id = sensors.controller_id AND event_id = longest.event_id;

INSERT INTO e_faults BY NAME
SELECT site_id, controller_id, 'hold' AS fault, source_file, source_row,
    format('device {} is left by hand in {}, so that its program does nothing', controller_id, hold) AS words
FROM controllers JOIN (SELECT site_id FROM e_sites) AS asked USING (site_id) WHERE hold IS NOT NULL
UNION ALL BY NAME
SELECT site_id, controller_id, circuit_id, 'hold' AS fault, circuits.source_file, circuits.source_row,
    format('circuit {} is left by hand in {}, so that its program does nothing', circuit_id, circuits.hold) AS words
FROM circuits JOIN e_circuits USING (circuit_id, controller_id) WHERE circuits.hold IS NOT NULL;

INSERT INTO e_faults BY NAME
WITH meetings AS (
    SELECT CASE subject_kind WHEN 'circuit' THEN subject_id END AS circuit_id,
        CASE subject_kind WHEN 'sensor' THEN subject_id END AS sensor_id, times, first_utc, event_ids
    FROM conflicts
), on_circuits AS (
    SELECT circuit_id, NULL AS sensor_id, times, first_utc, event_ids FROM meetings WHERE circuit_id IS NOT NULL
    UNION ALL
    SELECT e_acting.circuit_id, sensor_id, times, first_utc, event_ids
    FROM meetings JOIN e_acting USING (sensor_id)
)
SELECT site_id, controller_id, circuit_id, 'conflict' AS fault, first_utc AS at_utc, source_file, source_row,
    format('steps {} fire on {} at one instant and disagree, {} in the period, first on {}',
        array_to_string(event_ids, ' and '), coalesce('sensor ' || sensor_id, 'circuit ' || circuit_id),
        number_words(times, 'time'), when_local(local(timezone, first_utc))) AS words
FROM on_circuits JOIN e_circuits USING (circuit_id);

-- Channels without a program, and programs that lack a half.
INSERT INTO e_faults BY NAME
WITH halves AS (
    SELECT circuit_id, bool_or(level > 0) AS switches_on, bool_or(level = 0) AS switches_off,
        arg_min(source_file, source_row) AS step_file, min(source_row) AS step_row
    FROM e_steps GROUP BY circuit_id
)
SELECT site_id, controller_id, circuit_id, 'steps' AS fault, coalesce(step_file, source_file) AS source_file,
    coalesce(step_row, source_row) AS source_row,
    CASE
        WHEN steps = 0 THEN format('neither a step nor a sensor acts on circuit {}', circuit_id)
        WHEN switches_on THEN format('circuit {} has steps that switch it on and none that switches it off', circuit_id)
        ELSE format('circuit {} has steps that switch it off and none that switches it on', circuit_id)
    END AS words
FROM e_circuits LEFT JOIN halves USING (circuit_id)
WHERE steps = 0 AND photocontrols + occupancy_sensors = 0
   OR switches_on AND NOT switches_off AND NOT (photocontrols + occupancy_sensors > 0
       AND coalesce(combine, 'any') = 'all')
   OR switches_off AND NOT switches_on AND photocontrols + occupancy_sensors = 0;

INSERT INTO e_faults BY NAME
SELECT * EXCLUDE (first_row), first_row AS source_row FROM (
SELECT site_id, 'rows' AS fault, min(rejected.source_file) AS source_file,
    arg_min(rejected.source_row, (rejected.source_file, rejected.source_row)) AS first_row,
    format('{} of this site {} rejected, the first in {}, row {} ({})', number_words(count(*), 'input row'),
        CASE WHEN count(*) = 1 THEN 'was' ELSE 'were' END, min(rejected.source_file), first_row,
        arg_min("column", (rejected.source_file, rejected.source_row))) AS words
FROM rejected JOIN (SELECT site_id FROM e_sites) AS asked USING (site_id)
GROUP BY site_id
);
