-- Every open critical finding with no more than a list of a fleet needs, and what was last recorded of it, if anything.
WITH last_answers AS (
    SELECT finding_id, disposition FROM answers
    QUALIFY row_number() OVER (PARTITION BY finding_id ORDER BY date DESC NULLS FIRST, source_row DESC) = 1
)
SELECT rank, site_id, site_name, region, finding_id, subject_kind, subject_id, name, disposition
FROM told_findings LEFT JOIN last_answers USING (finding_id)
WHERE severity = 'critical' AND status = 'open'
ORDER BY rank, severity_place(severity), rule, controller_id, source_row, finding_id
