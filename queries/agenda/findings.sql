-- Open findings of a controller (its circuits, sensors and steps too), or of a site, with the reading they rest on.
SELECT finding_id, rule, title, findings.severity, findings.site_id, findings.controller_id, subject_kind, subject_id,
    summary, seen, remedy, first_date, last_date,
    coalesce(read_at_utc, newest_read_at_utc) AS read_at_utc
FROM findings
JOIN applied_rules USING (rule)
LEFT JOIN controllers USING (controller_id)
CROSS JOIN (SELECT newest_read_at_utc FROM period)
WHERE status = 'open' AND (findings.controller_id = $controller OR findings.site_id = $site)
ORDER BY first_date, finding_id
