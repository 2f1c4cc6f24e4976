-- unplanned.csv: sites with work for a crew that stays undone in these days, and findings that nobody is sent for, and why.
SELECT rank, site_id, name, plan_unplanned.critical, minutes, reason, findings, answered
FROM plan_unplanned
JOIN sites USING (site_id)
JOIN site_ranks USING (site_id)
ORDER BY rank, minutes IS NULL, findings   -- what is still work first
