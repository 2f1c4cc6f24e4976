--: name = "site-without-device"
--: title = "Site without a time switch"
--: severity = "medium"
--: subject = "site"
--: needs = []
--: fix = "on-site"
--
-- What goes wrong. Its export is missing, its device is not in the list, or the lights are switched by hand.
-- Why it matters. Nothing was looked at there; silence would read as fine.
-- On site. Find what switches the lights.
-- What good looks like. Every site has its devices in the export, or is known to have none.
-- Source: common practice, no source.

SELECT site_id, 'site' AS subject_kind, site_id AS subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, NULL::DATE AS first_date, NULL::DATE AS last_date,
    'No time switch of this site is in the export.' AS summary,
    'No accepted row of the controllers table names this site.' AS seen,
    'Find out what switches the lights there, and get its export.' AS remedy,
    NULL AS missing
FROM sites
WHERE site_id NOT IN (SELECT site_id FROM controllers)
ORDER BY site_id
