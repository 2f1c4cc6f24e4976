-- Where a rule could not look, and what it lacked: one row for each site, rule and missing column.
SELECT site_id, rule, missing, count(*) AS subjects
FROM not_evaluated
GROUP BY site_id, rule, missing
ORDER BY rule, missing, site_id
