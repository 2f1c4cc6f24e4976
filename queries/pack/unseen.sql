-- Doubts about clocks, places and age that nobody could look at, and what was missing.
SELECT not_evaluated.site_id, rule, title, subject_kind, subject_id, missing
FROM not_evaluated JOIN report_sites USING (site_id) JOIN applied_rules USING (rule)
WHERE rule IN ('clock-dst-offset', 'clock-wrong-zone', 'clock-drift', 'sun-location-off', 'stale-export')
ORDER BY site_id, rule, subject_id
