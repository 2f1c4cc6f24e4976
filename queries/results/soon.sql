-- soon.csv: what begins within 60 days of the newest reading, for whoever goes there; the first date first. Words behind
-- a column are its header in the workbook.
SELECT date,                            -- Local date
    kind, region, soon.site_id, sites.name AS site_name, controller_id,
    subject_kind,                       -- What it is about
    subject_id,                         -- Which one
    what,                               -- What will happen
    severity, rule,
    fix,                                -- Where it is mended
    finding_id
FROM soon JOIN sites USING (site_id)
ORDER BY date, severity_place(severity) NULLS LAST, kind, sites.site_id, rule, subject_kind, soon.subject_id, soon.what
