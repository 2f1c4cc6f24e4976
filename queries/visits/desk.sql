-- desk.csv: what is mended from a desk, site by site, the worst site first; no truck is sent for any of it.
SELECT rank, site_id, sites.name, finding_id, findings.severity, rule, findings.controller_id, findings.subject_kind,
    findings.subject_id, summary, remedy, answered
FROM findings
JOIN visit_work USING (finding_id, site_id, rule)
JOIN sites USING (site_id)
JOIN site_ranks USING (site_id)
WHERE visit_work.fix = 'remote' AND aside IS NULL
ORDER BY rank, place
