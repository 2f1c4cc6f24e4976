-- soon.csv: what begins within 60 days of the newest reading, for whoever goes there; the first date first.
SELECT date, kind, cell(region) AS region, cell(soon.site_id) AS site_id, cell(sites.name) AS site_name,
    cell(controller_id) AS controller_id, subject_kind, cell(subject_id) AS subject_id, cell(what) AS what,
    severity, rule, fix, finding_id
FROM soon JOIN sites USING (site_id)
ORDER BY date, severity_place(severity) NULLS LAST, kind, sites.site_id, rule, subject_kind, soon.subject_id, soon.what
