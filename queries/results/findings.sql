-- findings.csv: what is wrong where, worst first.
SELECT finding_id, rule, severity, status, first_seen,
    cell(site_id) AS site_id, cell(controller_id) AS controller_id, subject_kind, cell(subject_id) AS subject_id,
    cell(summary) AS summary,
    round(minutes, 2) AS minutes, round(kwh, 3) AS kwh, round(cost, 2) AS cost, round(co2_kg, 3) AS co2_kg,
    first_date, last_date, fix, cell(remedy || ' ' || who_words(who)) AS remedy, cell(source_file) AS source_file, source_row
FROM findings
ORDER BY severity_place(severity), rule, findings.site_id, subject_kind, findings.subject_id
