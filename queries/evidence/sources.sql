-- The input rows behind each row of the evidence.
FROM evidence_sources
ORDER BY site_id, place, subject_kind, subject_id, input, source_file
