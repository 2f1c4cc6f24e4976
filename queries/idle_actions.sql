-- Actions that answer nothing: declined without a reason, dated long after the newest reading, or of a finding that no
-- run knows. The last can only be told where a store remembers earlier runs: without, the finding may just be gone.
WITH doubted AS (
    SELECT source_file, source_row, finding_id,
        CASE
            WHEN disposition = 'declined' AND coalesce(trim(note), '') = '' THEN 'note'
            WHEN date > newest_read_at_utc::DATE + 92 THEN 'date'
            WHEN finding_id NOT IN (SELECT finding_id FROM findings) AND finding_id NOT IN (SELECT finding_id FROM past_findings)
                AND EXISTS (FROM runs WHERE run_date < newest_read_at_utc::DATE) THEN 'finding'
        END AS lacking
    FROM actions CROSS JOIN period
)
FROM doubted WHERE lacking IS NOT NULL
ORDER BY source_file, source_row
