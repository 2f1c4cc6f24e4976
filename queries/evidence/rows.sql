-- The rows of the evidence, the loudest of each item first.
FROM evidence_rows
ORDER BY site_id, place, loudness(outcome), subject_kind, subject_id
