--: name = "off-without-on"
--: title = "An off step without an on step"
--: severity = "medium"
--: subject = "circuit"
--: needs = []
--: fix = "device"
--
-- What goes wrong. The on was deleted with a season, or belongs to another circuit; only the off is left.
-- Why it matters. Nothing ever turns this circuit on: where people need it, it stays dark.
-- On site. Read the program of this circuit and ask what was meant.
-- What good looks like. On and off in pairs, on the same days.
-- Source: common practice, no source.

WITH scope AS (
    SELECT circuits.*, site_id, on_words
    FROM circuits JOIN controllers USING (controller_id)
    LEFT JOIN peer_words USING (circuit_id)
    WHERE coalesce(in_use, true)
), steps AS (
    SELECT controller_id, unnest(targets) AS circuit_id,
        CASE action WHEN 'on' THEN 100 WHEN 'off' THEN 0 ELSE level END AS level
    FROM events WHERE action IN ('on', 'off', 'level')
), totals AS (
    SELECT controller_id, circuit_id, count(*) FILTER (level > 0) AS ons, count(*) FILTER (level = 0) AS offs
    FROM steps GROUP BY controller_id, circuit_id
), sensed AS (
    SELECT unnest(circuits) AS circuit_id FROM sensors WHERE coalesce(in_use, true)
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, NULL::DATE AS first_date, NULL::DATE AS last_date,
    format('{:d} off step{} and no on step; no sensor turns it on either.', offs, CASE WHEN offs = 1 THEN '' ELSE 's' END) AS summary,
    'No accepted row turns this circuit on.' || also(steps_words(controller_id, circuit_id)) AS seen,
    CASE WHEN circuit_id IN (SELECT subject_id FROM relied_on WHERE subject_kind = 'circuit')
        THEN 'Ask what was meant, and have somebody see what lights this place now. People rely on this light: add '
             || 'the on '
             || 'step that is missing.'
        ELSE 'Ask what was meant, and whether people miss this light. Then add the on step that belongs to the off, '
             || 'or take the circuit out of use in the set-up.' || also(on_words)
    END AS remedy,
    NULL AS missing
FROM scope JOIN totals USING (controller_id, circuit_id)
WHERE ons = 0 AND offs > 0 AND circuit_id NOT IN (SELECT circuit_id FROM sensed)
ORDER BY site_id, subject_id
