--: name = "left-in-hand"
--: title = "Left in hand"
--: severity = "high"
--: subject = "circuit or controller"
--: needs = []
--: fix = "on-site"
--
-- What goes wrong. Somebody turned the hand-off-auto switch for a cleaner, an event or a test and did not turn it back.
-- Why it matters. In hand, nothing of the program counts: the circuit is on, or off, all day and all night.
-- On site. Find the switch and the reason: often a note on the panel door, or a fault that somebody works around.
-- What good looks like. Automatic, with a timed override for whoever needs light outside the program.
-- Source: common practice, no source.

WITH held AS (
    SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, circuits.hold
    FROM circuits JOIN controllers USING (controller_id)
    WHERE coalesce(in_use, true) AND circuits.hold IS NOT NULL
    UNION ALL
    SELECT site_id, 'controller', controller_id, hold FROM controllers WHERE hold IS NOT NULL
)
SELECT site_id, subject_kind, subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, NULL::DATE AS first_date, NULL::DATE AS last_date,
    format('Left by hand in {}.', hold) AS summary,
    format('The export says that {} held {}; its program does nothing.',
        CASE subject_kind WHEN 'circuit' THEN 'this circuit is' ELSE 'every circuit of this device is' END, hold) AS seen,
    CASE WHEN (subject_kind, subject_id) IN (SELECT (subject_kind, subject_id) FROM relied_on)
        THEN 'Find out why it was left in hand and who relies on this light. Return it to automatic only when its '
             || 'program keeps that light on.'
        ELSE 'Find out why it was left in hand. When the reason is gone, return it to automatic and watch the next '
             || 'step of the program.'
    END AS remedy,
    NULL AS missing
FROM held
ORDER BY site_id, subject_id
