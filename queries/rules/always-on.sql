--: name = "always-on"
--: title = "Programmed on without a break"
--: severity = "medium"
--: subject = "circuit"
--: needs = ["hours"]
--: fix = "device"
--
-- What goes wrong. Never programmed: the device came with everything on, or one on step and nothing after it.
-- Why it matters. Lamps burn 8,760 hours a year where about 4,300 are dark.
-- On site. Ask first whether somebody needs this light day and night; then read the program.
-- What good looks like. A program that follows the dark hours or the people.
-- Source: a survey of a chain of 2,500 stores found exterior lights on around the clock at most sites
-- (Consulting-Specifying Engineer, "Commissioning lighting systems"). The hours of darkness: computed for this audit.

WITH audited AS (
    SELECT site_id, min(start_utc) AS first_utc, max(end_utc) AS last_utc FROM site_days GROUP BY site_id
), open_all_through AS (
    SELECT site_id FROM site_spans JOIN audited USING (site_id)
    WHERE kind = 'open' AND start_utc <= first_utc AND end_utc >= last_utc
), scope AS (
    SELECT circuits.*, site_id, sites.timezone, off_words, on_words,
        area <> 'interior' OR site_id IN (SELECT site_id FROM hours) AS known
    FROM circuits JOIN controllers USING (controller_id) JOIN sites USING (site_id)
    LEFT JOIN peer_words USING (circuit_id)
    WHERE coalesce(in_use, true) AND coalesce(circuits.hold, controllers.hold) IS NULL
      AND must_be_lit IS NULL AND area NOT IN ('egress', 'security')
      AND NOT (area = 'interior' AND site_id IN (SELECT site_id FROM open_all_through))
), totals AS (
    SELECT circuit_id, min(start_utc) AS first_utc, max(end_utc) AS last_utc
    FROM timeline GROUP BY circuit_id HAVING min(level) > 0
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, NULL AS severity,
    seconds(first_utc, last_utc) / 60 AS minutes, NULL AS kwh,
    local(timezone, first_utc)::DATE AS first_date, last_day(timezone, last_utc) AS last_date,
    'Programmed on all through the period.' AS summary,
    format('At no instant from {} to {} is it programmed off.',
        day_words(local(timezone, first_utc)), day_words(last_day(timezone, last_utc)))
        || also(steps_words(controller_id, circuit_id)) || unused_words(circuit_id) AS seen,
    'Ask first who may need this light day and night: law, lease, insurer, people, animals or goods inside. If '
    || 'nobody does, give it a program.'
        || also(on_words) || also(off_words) AS remedy,
    NULL AS missing
FROM scope JOIN totals USING (circuit_id)
WHERE known
UNION ALL   -- interior light may be on all through where a site never closes
SELECT site_id, 'circuit', circuit_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'hours'
FROM scope JOIN totals USING (circuit_id)
WHERE NOT known
ORDER BY site_id, subject_id
