-- Each finding that a crew mends, site by site, worst first.
SELECT finding_id, site_id, severity, who, kind, bring, minutes
FROM visit_work
WHERE fix = 'on-site'
ORDER BY site_id, place
