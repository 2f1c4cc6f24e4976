-- Findings of the sites that have a page, site by site, worst first.
FROM told_findings
WHERE site_id IN (FROM report_sites)
ORDER BY rank, severity_place(severity), rule, controller_id, source_row, finding_id
