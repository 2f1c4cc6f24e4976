-- Open findings by where they are mended, with the kind of work, its minutes and what it takes along. A finding that a
-- desk can mend is never work for a crew.

CREATE TEMP TABLE visit_work AS
WITH kinds (kind, bring) AS (
    VALUES
        ('clock', 'a watch that is right, to set the clock by'),
        ('program', 'what the device is programmed with'),
        ('hand', 'the key to the cabinet of the hand switch'),
        ('sensor', 'something to cover the sensor with, and a safe way up to it'),
        ('backup', 'a battery or backup module of the device''s type'),
        ('look', 'a camera, and what reads the device out'),
        ('other', NULL)
), kind_of (rule, kind) AS (
    VALUES
        ('clock-dst-offset', 'clock'), ('clock-wrong-zone', 'clock'), ('clock-drift', 'clock'), ('sun-location-off', 'clock'),
        ('dark-while-open', 'program'), ('duty-not-met', 'program'), ('dark-around-closing', 'program'),
        ('always-on', 'program'), ('never-on', 'program'), ('conflicting-steps', 'program'), ('on-without-off', 'program'),
        ('off-without-on', 'program'), ('step-never-fires', 'program'), ('interior-lit-when-closed', 'program'),
        ('lit-in-daylight', 'program'), ('no-night-cutoff', 'program'), ('clock-times-at-dusk', 'program'),
        ('holiday-program-missing', 'program'), ('outlier', 'program'),
        ('left-in-hand', 'hand'),
        ('sensor-left-suspended', 'sensor'), ('sensor-acts-on-nothing', 'sensor'),
        ('short-backup', 'backup'),
        ('stale-export', 'look'), ('site-without-device', 'look')
)
SELECT finding_id, findings.site_id, rule, severity, fix, who, coalesce(kind_of.kind, 'other') AS kind, bring,
    CASE coalesce(kind_of.kind, 'other')
        WHEN 'clock' THEN clock_minutes WHEN 'program' THEN program_minutes WHEN 'hand' THEN hand_minutes
        WHEN 'sensor' THEN sensor_minutes WHEN 'backup' THEN backup_minutes WHEN 'look' THEN look_minutes
        ELSE other_minutes
    END AS minutes,
    CASE severity WHEN 'critical' THEN score_critical WHEN 'high' THEN score_high WHEN 'medium' THEN score_medium
        ELSE score_low END AS weight,
    row_number() OVER (
        PARTITION BY findings.site_id
        ORDER BY severity_place(severity), rule, findings.controller_id, findings.source_row, finding_id
    ) AS place              -- worst first
FROM findings
LEFT JOIN kind_of USING (rule)
LEFT JOIN kinds ON kinds.kind = coalesce(kind_of.kind, 'other')
CROSS JOIN visit_settings
CROSS JOIN portfolio
WHERE status = 'open';

CREATE TEMP TABLE plan_stops (
    day INTEGER, date DATE, crew INTEGER, stop INTEGER, site_id VARCHAR,
    arrive VARCHAR, leave VARCHAR,       -- HH:MM
    findings VARCHAR, bring VARCHAR
);
CREATE TEMP TABLE plan_unplanned (site_id VARCHAR, minutes INTEGER, critical INTEGER, reason VARCHAR);
