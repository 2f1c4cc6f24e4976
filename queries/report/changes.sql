-- What is new and what is gone since the run before, worst first.
SELECT changes.*, site_ranks.rank, coalesce(sites.name, past.name) AS site_name
FROM changes
LEFT JOIN sites USING (site_id)
LEFT JOIN site_ranks USING (site_id)
LEFT JOIN (SELECT site_id, arg_max(name, run_date) AS name FROM past_sites GROUP BY site_id) AS past USING (site_id)
WHERE change <> 'persisting'
ORDER BY change, severity_place(severity), reason, site_id, rule, subject_kind, subject_id
