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

WITH doubted AS (    -- a device may be in the export all the same
    SELECT DISTINCT site_id FROM rejected
)
SELECT site_id, 'site' AS subject_kind, site_id AS subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, NULL::DATE AS first_date, NULL::DATE AS last_date,
    CASE WHEN doubted.site_id IS NULL THEN 'No time switch of this site is in the export.'
         ELSE 'No time switch of this site was accepted: rows of the site were rejected.' END AS summary,
    'No accepted row of the controllers table names this site.' AS seen,
    CASE WHEN doubted.site_id IS NULL THEN 'Find out what switches the lights there, and get its export.'
         ELSE 'Mend the rejected rows of this site first (rejected.csv), and audit again before anybody is sent.' END AS remedy,
    NULL AS missing
FROM sites LEFT JOIN doubted USING (site_id)
WHERE site_id NOT IN (SELECT site_id FROM controllers)
ORDER BY site_id
