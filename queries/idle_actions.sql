-- Actions that answer nothing: of a finding that neither this run nor the one before knows, or declined without a reason.
SELECT source_file, source_row, finding_id, disposition = 'declined' AND coalesce(trim(note), '') = '' AS without_note
FROM actions
WHERE without_note
   OR finding_id NOT IN (SELECT finding_id FROM findings) AND finding_id NOT IN (SELECT finding_id FROM past_findings)
ORDER BY source_file, source_row
