-- Where rules could not look, and what they lacked: one row for each rule and missing column.
SELECT rule, missing, count(DISTINCT site_id) AS sites, count(*) AS subjects
FROM not_evaluated
GROUP BY rule, missing
ORDER BY rule, missing
