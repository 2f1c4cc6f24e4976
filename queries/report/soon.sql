-- What begins within 60 days of the newest reading, in order of date; at one date worst first, then by rank.
SELECT soon.* FROM soon JOIN site_ranks USING (site_id)
ORDER BY date, severity_place(severity) NULLS LAST, kind, rule, rank, subject_kind, subject_id, what
