-- The workbook's sheet of findings: the columns of findings.csv, then what a reader wants beside them. Words behind a
-- column are its header.
SELECT finding_id, rule, severity, status, first_seen, site_id, controller_id,
    subject_kind,                       -- What it is about
    subject_id,                         -- Which one
    summary,
    round(minutes, 2) AS minutes,       -- Minutes in the period
    round(kwh, 3) AS kwh,               -- Energy, kWh in the period
    round(cost, 2) AS cost,             -- Cost, money a year
    round(co2_kg, 3) AS co2_kg,         -- CO2, kg in the period
    first_date, last_date,
    fix,                                -- Where it is mended
    remedy || ' ' || who_words(who) AS remedy,
    source_file,
    source_row,                         -- Row in the source file
    seen AS evidence,                   -- What was seen
    state,                              -- Whether it holds at the newest reading
    next_date,                          -- Local date on which it begins or comes again
    status_reason,                      -- Why waived or exempt
    who                                 -- Who may do it
FROM findings
ORDER BY severity_place(severity), rule, findings.site_id, subject_kind, findings.subject_id
