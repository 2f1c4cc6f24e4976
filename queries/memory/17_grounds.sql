-- What each finding of this run and of the one before rests on, as the tables have it now: a map from fact to value. A
-- later run compares, and calls fixed only what was changed at the device.

CREATE TEMP TABLE run_before AS
SELECT max(runs.run_date) AS run_date FROM runs CROSS JOIN this_run WHERE runs.run_date < this_run.run_date
HAVING max(runs.run_date) IS NOT NULL;

CREATE TEMP TABLE facts AS     -- true: set at the device; else said of the circuit or its site
FROM (VALUES
    ('program', true), ('clock', true), ('location set', true), ('hand switch', true), ('sensors', true), ('wiring', true),
    ('backup', true), ('reading', true), ('devices', true),
    ('area', false), ('duty to light', false), ('opening hours', false), ('place', false), ('energy code', false)
) AS facts (fact, at_device);

CREATE TEMP TABLE rule_grounds AS      -- what a rule looks at; own rules, which are not here, may look at everything
WITH what (rule, light, facts) AS (    -- light: all that decides when a circuit is lit
    VALUES
        ('lit-in-daylight', true, ['area', 'duty to light']),
        ('no-night-cutoff', true, ['area', 'duty to light', 'opening hours']),
        ('dark-while-open', true, ['area', 'opening hours']),
        ('dark-around-closing', true, ['area', 'opening hours']),
        ('duty-not-met', true, ['duty to light', 'opening hours']),
        ('always-on', true, ['area', 'duty to light', 'opening hours']),
        ('never-on', true, ['area']),
        ('clock-times-at-dusk', true, ['area', 'duty to light', 'opening hours']),
        ('interior-lit-when-closed', true, ['area', 'opening hours']),
        ('holiday-program-missing', true, ['area', 'opening hours']),
        ('outlier', true, ['area', 'duty to light', 'opening hours']),
        ('clock-dst-offset', false, ['clock', 'place']),
        ('clock-wrong-zone', false, ['clock', 'place']),
        ('clock-drift', false, ['clock', 'place']),
        ('sun-location-off', false, ['program', 'location set', 'place']),
        ('sensor-left-suspended', false, ['program', 'clock', 'location set', 'sensors']),
        ('sensor-acts-on-nothing', false, ['sensors']),
        ('on-without-off', false, ['program', 'sensors', 'wiring']),
        ('off-without-on', false, ['program', 'sensors']),
        ('conflicting-steps', false, ['program', 'clock', 'location set', 'opening hours']),
        ('step-never-fires', false, ['program', 'location set', 'opening hours']),
        ('left-in-hand', false, ['hand switch']),
        ('short-backup', false, ['backup', 'energy code']),
        ('stale-export', false, ['reading']),
        ('site-without-device', false, ['devices'])
)
SELECT rule, unnest(CASE WHEN light
    THEN ['program', 'clock', 'location set', 'hand switch', 'sensors', 'wiring', 'place'] || facts ELSE facts END) AS fact
FROM what;

CREATE TEMP TABLE grounds AS
WITH asked AS (
    SELECT finding_id, rule, site_id, controller_id, subject_kind, subject_id FROM findings
    UNION ALL
    SELECT finding_id, rule, site_id, controller_id, subject_kind, subject_id
    FROM past_findings JOIN run_before USING (run_date)
    WHERE finding_id NOT IN (SELECT finding_id FROM findings)
), circuits_of AS (        -- the circuits that a finding is about: all of a device's where it is about the device
    SELECT finding_id, circuit_id FROM asked JOIN circuits ON subject_kind = 'circuit' AND subject_id = circuit_id
    UNION ALL
    SELECT finding_id, circuit_id FROM asked JOIN circuits USING (controller_id) WHERE subject_kind IN ('controller', 'step')
), sensors_of AS (
    SELECT DISTINCT finding_id, sensor_id FROM asked
    JOIN (SELECT sensor_id, unnest(circuits) AS circuit_id FROM sensors) ON subject_kind = 'circuit' AND subject_id = circuit_id
    UNION ALL
    SELECT finding_id, sensor_id FROM asked JOIN sensors ON subject_kind = 'sensor' AND subject_id = sensor_id
    UNION ALL
    SELECT finding_id, sensor_id FROM asked JOIN sensors USING (controller_id) WHERE subject_kind IN ('controller', 'step')
), steps AS (
    SELECT target, min(row_no) AS row_no, step    -- a program that the steps were worked out from counts once:
    FROM (                                        -- how many they are depends on the audited year
        SELECT unnest(targets) AS target, row_no, CASE WHEN program_sha256 IS NULL THEN row_no END AS own_row,
            coalesce(program_sha256, concat_ws('|', targets, action, level, days_mask, anchor, time_s, offset_s, season_from,
                season_until, calendar)) AS step
        FROM events
    ) GROUP BY target, step, own_row
), targets AS (
    FROM circuits_of UNION ALL FROM sensors_of
), days AS (
    SELECT site_id, string_agg(concat_ws('|', days_mask, opens_s, closes_s), ';' ORDER BY days_mask, opens_s, closes_s) AS days FROM hours GROUP BY site_id
), shut AS (
    SELECT site_id, string_agg(concat_ws('|', date, calendar), ';' ORDER BY date, calendar) AS dates FROM closures GROUP BY site_id
), said AS (
    SELECT finding_id, 'program' AS fact, string_agg(step, ';' ORDER BY row_no, target) AS value
    FROM targets AS t (finding_id, target) JOIN steps USING (target) GROUP BY finding_id
    UNION ALL
    SELECT finding_id, 'sensors', string_agg(concat_ws('|', sensor_id, kind, circuits, in_use), ';' ORDER BY sensor_id)
    FROM sensors_of JOIN sensors USING (sensor_id) GROUP BY finding_id
    UNION ALL
    SELECT finding_id, unnest(['wiring', 'area', 'duty to light', 'hand switch']),
        unnest([string_agg(coalesce(combine, 'any'), ';' ORDER BY circuit_id), string_agg(area, ';' ORDER BY circuit_id),
            string_agg(coalesce(must_be_lit, 'none'), ';' ORDER BY circuit_id),
            string_agg(coalesce(circuits.hold, controllers.hold, 'none'), ';' ORDER BY circuit_id)])
    FROM circuits_of JOIN circuits USING (circuit_id) JOIN controllers USING (controller_id) GROUP BY finding_id
    UNION ALL
    SELECT finding_id, unnest(['clock', 'residual', 'location set', 'backup', 'reading']),
        unnest([clock, residual_s::VARCHAR, concat_ws('|', latitude, longitude),
            clock_backup_hours::VARCHAR, concat_ws('|', read_at_utc, last_contact_utc)])
    FROM asked JOIN controllers USING (controller_id) JOIN device_clocks USING (controller_id) JOIN clocks USING (clock_no)
    UNION ALL
    SELECT finding_id, unnest(['place', 'energy code', 'opening hours', 'devices']),
        unnest([concat_ws('|', latitude, longitude, timezone), coalesce(sites.energy_code, portfolio.energy_code),
            concat_ws('/', days, shut.dates, every.dates),
            (SELECT string_agg(controller_id, ';' ORDER BY controller_id) FROM controllers WHERE controllers.site_id = sites.site_id)])
    FROM asked JOIN sites USING (site_id) CROSS JOIN portfolio
    LEFT JOIN days USING (site_id) LEFT JOIN shut USING (site_id) LEFT JOIN shut AS every ON every.site_id = '*'
)
SELECT finding_id, map_from_entries(list(    -- the residual as it is: how far it moved tells a setting from a drift
    {'fact': said.fact, 'value': CASE WHEN said.fact = 'residual' THEN value ELSE md5(value) END} ORDER BY said.fact
)) AS facts
FROM said JOIN asked USING (finding_id)
LEFT JOIN rule_grounds AS looked_at ON looked_at.rule = asked.rule
    AND looked_at.fact = CASE WHEN said.fact = 'residual' THEN 'clock' ELSE said.fact END
WHERE value IS NOT NULL AND (looked_at.fact IS NOT NULL OR asked.rule NOT IN (SELECT rule FROM rule_grounds))
GROUP BY finding_id;
