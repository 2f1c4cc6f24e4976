-- changes.csv: findings that are new, persist or are gone since the run before; only with a store.
SELECT change, was, reason, since, runs, severity, rule, site_id, controller_id, subject_kind, subject_id, summary,
    round(cost, 2) AS cost, finding_id
FROM changes
ORDER BY list_position(['new', 'gone', 'persisting'], change), severity_place(severity), changes.site_id, rule,
    subject_kind, changes.subject_id, finding_id
