-- The same at the sites that have a page: one row for each site, rule and missing column.
SELECT site_id, rule, missing, count(*) AS subjects
FROM not_evaluated JOIN report_sites USING (site_id)
GROUP BY site_id, rule, missing
ORDER BY rule, missing, site_id
