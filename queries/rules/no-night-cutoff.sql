--: name = "no-night-cutoff"
--: title = "No cutoff or setback at night"
--: severity = "medium"
--: subject = "circuit"
--: needs = ["hours"]
--: fix = "device"
--: after = ["sun-location-off"]
--: money = true
--: params.level_percent = { default = 70, unit = "% of full level", meaning = "above it the light counts as not set back" }
--: params.window_share = { default = 0.95, unit = "share of a night window", meaning = "lit through at least this much of it" }
--: params.night_share = { default = 0.05, unit = "share of the nights", meaning = "on more than this is a finding" }
--
-- What goes wrong. The program ends with an on: dusk to dawn was set up on the first day and the off at closing was
-- left for later. Or a tenant changed the hours and nobody changed the clock.
-- Why it matters. Facades, signs and planting lit for nobody cost half of their yearly energy and annoy neighbours;
-- energy codes ask that they go off, and that other exterior light is cut, in the small hours.
-- On site. Read the program after midnight: is there an off or a lower level before 00:00, and an on before opening?
-- What good looks like. Facade, landscape and signs off within an hour of closing; lots and paths at a lower level or
-- on occupancy sensing until people come back. Ask for duties to light first: staff, cash machines, lease, insurer.
-- Source: IECC C405.2.7.2 and .3 (2021), ANSI/ASHRAE/IES 90.1 9.4.1.4: facade and landscape off, other exterior light
-- cut by 30 to 50 % from midnight or closing to 06:00 or opening. The night window and thresholds follow these.

WITH scope AS (
    SELECT circuits.*, sites.*, off_words, closing_words, coalesce(circuits.hold, controllers.hold) AS held,
        sites.site_id IN (SELECT site_id FROM hours) AS hours_known
    FROM circuits JOIN controllers USING (controller_id) JOIN sites USING (site_id)
    LEFT JOIN peer_words USING (circuit_id)
    WHERE coalesce(circuits.in_use, true)
      AND area NOT IN ('interior', 'egress', 'security')
      AND coalesce(must_be_lit, 'open') = 'open'
), nights AS (
    SELECT circuit_id, span_start_utc AS window_start, span_end_utc AS window_end,
        sum(seconds(start_utc, end_utc)) AS lit_s, arg_min(event_id, start_utc) AS event_id
    FROM exposures
    WHERE kind = 'lit-at-night' AND level > $level_percent
    GROUP BY circuit_id, span_start_utc, span_end_utc
    HAVING lit_s >= $window_share * seconds(window_start, window_end)
), totals AS (
    SELECT circuit_id, count(*) AS lit_nights, sum(lit_s) / 60 AS lit_minutes,
        min(window_start) AS first_utc, min(window_end) AS first_end_utc, max(window_end) AS last_utc,
        arg_min(event_id, window_start) AS event_id
    FROM nights GROUP BY circuit_id
), judged AS (
    SELECT *, local(timezone, first_utc) AS first_start, local(timezone, first_end_utc) AS first_end,
        device_first(scope.controller_id, circuit_id, first_utc) AS device_first
    FROM scope JOIN totals USING (circuit_id) JOIN circuit_figures AS figures USING (site_id, controller_id, circuit_id)
    LEFT JOIN step_words AS began USING (controller_id, event_id)
    WHERE hours_known AND lit_nights > $night_share * night_windows
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id,
    CASE WHEN area IN ('facade', 'landscape', 'sign') THEN 'high' END AS severity,
    lit_minutes AS minutes, curfew_kwh AS kwh,
    first_start::DATE AS first_date, last_day(timezone, last_utc) AS last_date,
    format('Programmed above {:d} % through the night window on {:d} of {:d} nights.',
        $level_percent::BIGINT, lit_nights, night_windows) AS summary,
    format('On {} it is programmed above {:d} % through the night window, from {}{} to {}.',
        day_words(first_start), $level_percent::BIGINT, clock_words(first_start),
        device_words(controller_id, first_utc, first_start), clock_words(first_end))
        || cause_words(held, sourced, NULL, NULL) AS seen,
    CASE WHEN must_be_lit IS NOT NULL
        THEN 'A duty to light is recorded here: ask its source what it wants at night, and who else relies on this '
             || 'light. Until both are known it stays as it is.'
        WHEN held IS NOT NULL
        THEN 'Ask why it was left in hand, and who may need this light at night; if nobody does, return it to its '
             || 'program.'
        WHEN device_first IS NOT NULL THEN device_first || '.'
        ELSE 'Ask first who may need this light at night: late staff, a cash machine, lease, insurer, law. If nobody '
             || 'does, add an off or a lower level within an hour of closing, and an on before people come back.'
            || also(coalesce(off_words, 'here closing is at ' || closing_words))
    END AS remedy,
    NULL AS missing
FROM judged
UNION ALL
SELECT site_id, 'circuit', circuit_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'hours'
FROM scope WHERE NOT hours_known
ORDER BY site_id, subject_id
