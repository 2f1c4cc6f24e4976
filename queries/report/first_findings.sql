-- Findings that the front page tells at length: those of the first sites by rank, and what is done and still there.
FROM told_findings
WHERE rank <= $sites OR finding_id IN (SELECT finding_id FROM answers WHERE contradicted)
ORDER BY rank, severity_place(severity), rule, controller_id, source_row, finding_id
