--: name = "on-without-off"
--: title = "An on step without an off step"
--: severity = "medium"
--: subject = "circuit"
--: needs = []
--: fix = "device"
--
-- What goes wrong. The on was entered and the off forgotten, or the off was deleted with a season.
-- Why it matters. From the first on the circuit stays on until somebody switches it by hand.
-- On site. Read the program of this circuit step by step and ask what was meant.
-- What good looks like. Every on has its off on the same days, or a photocontrol in series ends it.
-- Source: common practice, no source.

WITH scope AS (
    SELECT circuits.*, site_id, off_words
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
), in_series AS (
    SELECT unnest(circuits) AS circuit_id FROM sensors WHERE kind = 'photocontrol' AND coalesce(in_use, true)
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, NULL::DATE AS first_date, NULL::DATE AS last_date,
    format('{:d} on step{} and no off step.', ons, CASE WHEN ons = 1 THEN '' ELSE 's' END) AS summary,
    'No accepted row takes this circuit to off.' || also(steps_words(controller_id, circuit_id)) AS seen,
    CASE WHEN area IN ('egress', 'security') OR must_be_lit IS NOT NULL
        THEN 'Ask what this circuit is meant to do and who relies on its light. Nothing is to be changed before that '
             || 'is known.'
        ELSE 'Ask what was meant, then add the off step that belongs to each on step, on the same days.' || also(off_words)
    END AS remedy,
    NULL AS missing
FROM scope JOIN totals USING (controller_id, circuit_id)
WHERE ons > 0 AND offs = 0
  AND NOT (coalesce(combine, 'any') = 'all' AND circuit_id IN (SELECT circuit_id FROM in_series))
ORDER BY site_id, subject_id
