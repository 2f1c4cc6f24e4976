-- Findings that are waived or claimed exempt, site by site, worst first: as many as are shown.
FROM told_findings
WHERE status <> 'open'
ORDER BY rank, severity_place(severity), rule, controller_id, source_row, finding_id
LIMIT $shown
