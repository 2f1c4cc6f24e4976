-- Findings at the sites of a pack: first what weakens the evidence, waived or not, for a waiver makes no clock right; then
-- what else is open.
WITH weakening (rule, why) AS (VALUES
    ('clock-dst-offset', 'What is programmed happens at other times than it says.'),
    ('clock-wrong-zone', 'What is programmed happens at other times than it says.'),
    ('clock-drift', 'What is programmed happens at other times than it says.'),
    ('sun-location-off', 'Steps by the sun come earlier or later than the sun of this site.'),
    ('left-in-hand', 'The program does nothing while a hand switch holds it.'),
    ('stale-export', 'The program may have been changed since it was read.'),
    ('conflicting-steps', 'Which of two steps wins is not certain.'),
    ('on-without-off', 'A half of the program is missing from the export, or from the device.'),
    ('off-without-on', 'A half of the program is missing from the export, or from the device.'),
    ('sensor-left-suspended', 'A sensor that is in the export does nothing.'),
    ('sensor-acts-on-nothing', 'Which circuit the sensor acts on is not known.'),
    ('short-backup', 'A power cut may have left the device with another time or program.'),
    ('site-without-device', 'Nothing of this site can be shown.')
)
SELECT findings.site_id, finding_id, rule, applied_rules.title, findings.severity, status,
    subject_kind, subject_id, summary,
    why, first_date, last_date, source_file, source_row
FROM findings
JOIN report_sites USING (site_id)
JOIN applied_rules USING (rule)
LEFT JOIN weakening USING (rule)
WHERE why IS NOT NULL OR status = 'open'
ORDER BY site_id, why IS NULL, severity_place(findings.severity), rule, source_row, finding_id
