--: name = "stale-export"
--: title = "Export is old"
--: severity = "medium"
--: subject = "controller"
--: needs = []
--: fix = "on-site"
--: params.age_days = { default = 35, unit = "days", meaning = "older than this is a finding" }
--
-- What goes wrong. The device stopped talking and the last file is sent again every month.
-- Why it matters. Everything said here about it may be past; silence would read as fine.
-- On site. See whether the device has power and its line; read its program and clock anew.
-- What good looks like. Every device heard from within the month.
-- Source: common practice, no source (a monthly rhythm and a few days).

WITH ages AS (
    SELECT *, coalesce(last_contact_utc, read_at_utc) AS heard_utc,
        seconds(heard_utc, newest_read_at_utc) / 86400 AS age_days
    FROM controllers CROSS JOIN period
)
SELECT site_id, 'controller' AS subject_kind, controller_id AS subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, heard_utc::DATE AS first_date, newest_read_at_utc::DATE AS last_date,
    format('Last heard from {:d} days before the newest reading.', floor(age_days)::BIGINT) AS summary,
    format('{} {} (UTC); the newest reading of the portfolio is of {}.',
        CASE WHEN last_contact_utc IS NULL THEN 'Read' ELSE 'Last contact' END,
        strftime(heard_utc, '%-d %B %Y'), strftime(newest_read_at_utc, '%-d %B %Y')) AS seen,
    'See whether the device has power and its line; export its program and clock anew before anything else is believed.' AS remedy,
    NULL AS missing
FROM ages WHERE seconds(heard_utc, newest_read_at_utc) > $age_days * 86400
ORDER BY site_id, subject_id
