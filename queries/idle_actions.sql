-- Actions that answer nothing: declined without a reason, or of a finding that no run knows. The latter can only be told
-- where a store remembers earlier runs: without, the finding may just be gone.
SELECT source_file, source_row, finding_id, disposition = 'declined' AND coalesce(trim(note), '') = '' AS without_note
FROM actions
WHERE without_note
   OR finding_id NOT IN (SELECT finding_id FROM findings) AND finding_id NOT IN (SELECT finding_id FROM past_findings)
      AND EXISTS (FROM runs CROSS JOIN period WHERE run_date < newest_read_at_utc::DATE)
ORDER BY source_file, source_row
