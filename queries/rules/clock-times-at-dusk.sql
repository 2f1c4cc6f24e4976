--: name = "clock-times-at-dusk"
--: title = "Clock times where the sun should decide"
--: severity = "low"
--: subject = "circuit"
--: needs = ["hours"]
--: fix = "device"
--: after = ["lit-in-daylight", "dark-while-open"]
--
-- What goes wrong. Dusk was set as a time of day. Sunset moves by hours through the year, and the time does not.
-- Why it matters. It explains a finding beside it: lit in daylight in one season, dark while people are there in another.
-- On site. Ask whether the device can follow the sun, or a photocontrol can be fitted.
-- What good looks like. On by sunset or a photocontrol; clock times only for the end of the evening.
-- Source: common practice, no source; energy codes allow a photocontrol or an astronomic time switch for daylight shutoff.

WITH scope AS (
    SELECT circuits.*, site_id, on_words
    FROM circuits JOIN controllers USING (controller_id) LEFT JOIN peer_words USING (circuit_id)
    WHERE coalesce(in_use, true) AND area NOT IN ('interior', 'egress', 'security')
), by_clock_alone AS (
    SELECT circuit_id
    FROM (SELECT unnest(targets) AS circuit_id, anchor FROM events WHERE action IN ('on', 'off', 'level'))
    GROUP BY circuit_id HAVING bool_and(anchor = 'clock')
), with_photocontrol AS (
    SELECT unnest(circuits) AS circuit_id FROM sensors WHERE kind = 'photocontrol' AND coalesce(in_use, true)
), beside AS (   -- verdicts: what the rules that ran before this one found
    SELECT subject_id AS circuit_id, string_agg(rule, ' and ' ORDER BY rule) AS rules,
        min(first_date) AS first_date, max(last_date) AS last_date
    FROM verdicts
    WHERE rule IN ('lit-in-daylight', 'dark-while-open') AND missing IS NULL
    GROUP BY subject_id
), sunsets AS (
    SELECT site_id, arg_min(sunset, (after_noon_s, sunset)) AS earliest, arg_max(sunset, (after_noon_s, sunset)) AS latest
    FROM (
        SELECT *, (epoch(sunset)::BIGINT % 86400 + 43200) % 86400 AS after_noon_s   -- the sun may set after midnight
        FROM (
            SELECT site_id, local(timezone, end_utc) AS sunset FROM site_spans JOIN sites USING (site_id)
            WHERE kind = 'light' AND site_id IN (SELECT site_id FROM scope JOIN beside USING (circuit_id))
              AND end_utc < (SELECT max(end_utc) FROM site_days WHERE site_days.site_id = site_spans.site_id)
        )
    )
    GROUP BY site_id
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, first_date, last_date,
    'Switched by clock times alone, and no photocontrol.' AS summary,
    format('It has clock steps only, and is found {}.', rules) || also(steps_words(controller_id, circuit_id))
        || coalesce(format(' Sunset here is at {} at the earliest ({}), at {} at the latest ({}).',
            clock_words(earliest), strftime(earliest, '%-d %B'), clock_words(latest), strftime(latest, '%-d %B')), '') AS seen,
    CASE WHEN must_be_lit IS NOT NULL
        THEN 'Ask the source of the duty that is recorded here. Then let a sun step or a photocontrol decide in a '
             || 'way that keeps this light lit through all that the duty names.'
        ELSE 'Let the on follow sunset, by a sun step or a photocontrol, and keep the light while people are there.' || also(on_words)
    END AS remedy,
    NULL AS missing
FROM scope JOIN by_clock_alone USING (circuit_id) JOIN beside USING (circuit_id) LEFT JOIN sunsets USING (site_id)
ANTI JOIN with_photocontrol USING (circuit_id)
UNION ALL   -- not lit in daylight, and whether it is dark while open nobody knows
SELECT site_id, 'circuit', circuit_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'hours'
FROM scope JOIN by_clock_alone USING (circuit_id)
ANTI JOIN with_photocontrol USING (circuit_id)
ANTI JOIN beside USING (circuit_id)
WHERE circuit_id IN (SELECT subject_id FROM verdicts WHERE rule = 'dark-while-open' AND missing = 'hours')
ORDER BY site_id, subject_id
