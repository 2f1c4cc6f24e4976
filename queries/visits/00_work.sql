-- What was recorded about open findings, as a sentence each, oldest first; what stands now is said last. Nobody is sent
-- again for what was declined, nor for what was done on or after the day of the export, which cannot show it yet, nor for a device whose row was rejected.

CREATE TEMP TABLE visit_answers AS
WITH told AS (
    SELECT *, row_number() OVER (PARTITION BY finding_id ORDER BY date NULLS FIRST, source_row) AS turn,
        CASE disposition WHEN 'ordered' THEN 'Ordered' WHEN 'declined' THEN 'Declined' ELSE 'Recorded as done' END
        || coalesce(strftime(date, ' on %-d %B %Y'), '') || coalesce(' by ' || nullif(trim("by"), ''), '')
        || CASE WHEN contradicted THEN strftime(export_date, ', and still there in the export read on %-d %B %Y') ELSE '' END
        || coalesce(CASE WHEN contradicted THEN '. Noted then: ' ELSE ': ' END || nullif(rtrim(trim(note), '.'), ''), '') || '.'
        || CASE WHEN disposition = 'done' AND NOT contradicted
            THEN strftime(export_date, ' The export read on %-d %B %Y is no newer; the next one will show it.') ELSE '' END AS words
    FROM answers
)
SELECT finding_id, string_agg(words, ' ' ORDER BY turn) AS answered,
    bool_or(contradicted) AS still_there,    -- recorded as done, and not
    CASE WHEN arg_max(disposition, turn) = 'declined' THEN 'declined'
         WHEN arg_max(disposition, turn) = 'done' AND NOT arg_max(contradicted, turn) THEN 'done' END AS aside
FROM told
GROUP BY finding_id
UNION ALL      -- what our own tables lack is mended in them
SELECT finding_id, 'Rows of this site were rejected; mend them, and audit again.', false, 'rejected'
FROM findings
WHERE rule = 'site-without-device' AND site_id IN (SELECT site_id FROM rejected) AND finding_id NOT IN (SELECT finding_id FROM told);

-- Open findings by where they are mended, with the kind of work, its minutes and what it takes along. A finding that a
-- desk can mend is never work for a crew; one that is set aside is nobody's.

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
SELECT finding_id, findings.site_id, rule, severity, fix, who, controller_id, subject_kind, subject_id, answered, still_there, aside,
    coalesce(kind_of.kind, 'other') AS kind, bring,
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
LEFT JOIN visit_answers USING (finding_id)
LEFT JOIN kinds ON kinds.kind = coalesce(kind_of.kind, 'other')
CROSS JOIN visit_settings
CROSS JOIN portfolio
WHERE status = 'open';

CREATE TEMP TABLE plan_stops (
    day INTEGER, date DATE, crew INTEGER, stop INTEGER, site_id VARCHAR,
    arrive VARCHAR, leave VARCHAR,       -- HH:MM
    findings VARCHAR, bring VARCHAR, answered VARCHAR
);
CREATE TEMP TABLE plan_unplanned (
    site_id VARCHAR, critical INTEGER, minutes INTEGER, reason VARCHAR, findings VARCHAR, answered VARCHAR
);
