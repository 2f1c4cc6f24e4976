-- unplanned.csv: sites with work for a crew that stays undone in these days, and why.
SELECT rank, site_id, name, plan_unplanned.critical, minutes, reason
FROM plan_unplanned
JOIN sites USING (site_id)
JOIN site_ranks USING (site_id)
ORDER BY rank
