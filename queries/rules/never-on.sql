--: name = "never-on"
--: title = "Never programmed on"
--: severity = "medium"
--: subject = "circuit"
--: needs = []
--: fix = "device"
--: who = "site staff"
--
-- What goes wrong. A circuit in use without a program, or with a program that cannot turn it on.
-- Why it matters. Either its lamps are dark where people count on them, or it is switched by something that the export
-- does not show. A way out that nothing turns on is the worst case.
-- On site. Look whether its lamps are lit at night, and by what.
-- What good looks like. A program, or the circuit marked as out of use.
-- Source: NFPA 101 7.8.1 for egress (lit while occupied); otherwise common practice, no source.

WITH scope AS (
    SELECT circuits.*, site_id, on_words
    FROM circuits JOIN controllers USING (controller_id)
    LEFT JOIN peer_words USING (circuit_id)
    WHERE coalesce(in_use, true) AND coalesce(circuits.hold, controllers.hold) IS NULL
), totals AS (
    SELECT circuit_id FROM timeline GROUP BY circuit_id HAVING max(level) = 0 AND NOT bool_or(conditional)
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id,
    CASE WHEN area = 'egress' THEN 'high' END AS severity,
    NULL AS minutes, NULL AS kwh, first_date, (first_date + days - 1)::DATE AS last_date,
    'Never programmed on in the period.' AS summary,
    'No accepted step and no sensor turns this circuit on, on any date of the period.'
        || also(steps_words(controller_id, circuit_id)) || unused_words(circuit_id) AS seen,
    CASE
        WHEN area = 'egress'
        THEN 'Ask at the site what lights this way out, and have somebody see it at night. It must be lit whenever '
             || 'anybody is inside.'
        WHEN area = 'security' OR must_be_lit IS NOT NULL
        THEN 'Ask at the site what lights this place, and have somebody see it at night. People rely on this light: '
             || 'have it programmed on whenever they need '
             || 'it.'
        ELSE 'Have somebody see whether its lamps are lit at night, and by what. Then give it a program, or mark it '
             || 'as out '
             || 'of use.' || also(on_words)
    END AS remedy,
    NULL AS missing
FROM scope JOIN totals USING (circuit_id) CROSS JOIN period
ORDER BY site_id, subject_id
