--: name = "interior-lit-when-closed"
--: title = "Interior lights programmed on while closed"
--: severity = "medium"
--: subject = "circuit"
--: needs = ["hours"]
--: fix = "device"
--: after = ["sun-location-off"]
--: money = true
--: params.closed_share = { default = 0.1, unit = "share of the closed time", meaning = "on for more is a finding" }
--
-- What goes wrong. The program was set for cleaners who come at other hours now, for seven days where five are worked,
-- or without an off at all.
-- Why it matters. Interior light is the largest load of most sites; energy codes ask for automatic shutoff when nobody
-- is scheduled to be there.
-- On site. Ask for the custodial schedule first: loggers in three buildings found true lights-on hours between 67 % below
-- and 138 % above what was assumed.
-- What good looks like. Off within an hour of closing, a timed override for whoever stays, and the holidays known.
-- Source: IECC C405.2.2, ANSI/ASHRAE/IES 90.1 9.4.1.1(i); logger study: frontiersin.org, fmech.2017.00011. The share of
-- 10 % and the hour at both ends: common practice, no source.

WITH scope AS (
    SELECT circuits.*, site_id, timezone, off_words, closing_words, coalesce(circuits.hold, controllers.hold) AS held,
        site_id IN (SELECT site_id FROM hours) AS hours_known
    FROM circuits JOIN controllers USING (controller_id) JOIN sites USING (site_id)
    LEFT JOIN peer_words USING (circuit_id)
    WHERE coalesce(in_use, true) AND area = 'interior'
), worked AS (     -- the longest stretch, to show
    SELECT circuit_id, start_utc, local(timezone, start_utc) AS lit_from, local(timezone, end_utc) AS lit_until,
        began.sourced AS began, ended.sourced AS ended, device_first(scope.controller_id, circuit_id, start_utc) AS device_first
    FROM exposures JOIN scope USING (circuit_id)
    LEFT JOIN step_words AS began ON began.controller_id = scope.controller_id AND began.event_id = exposures.event_id
    LEFT JOIN step_words AS ended ON ended.controller_id = scope.controller_id AND ended.event_id = end_event_id
    WHERE kind = 'lit-while-closed'
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, NULL AS severity,
    closed_minutes AS minutes, closed_kwh AS kwh, first_date, (first_date + days - 1)::DATE AS last_date,
    format('Programmed on for {} of the closed time, {}.',
        percent_words(closed_minutes / site_closed_minutes), minutes_words(closed_minutes)) AS summary,
    format('The site is closed for {} of the period (opening hours widened by {:d} min at both ends); this circuit '
           || 'is programmed on for {} of these. The longest stretch: from {} at {}{} to {} at {}.',
        minutes_words(site_closed_minutes), hours_margin_s // 60, minutes_words(closed_minutes),
        day_words(lit_from), clock_words(lit_from), device_words(controller_id, start_utc, lit_from),
        day_words(lit_until), clock_words(lit_until))
        || cause_words(held, began, ended, NULL) || unused_words(circuit_id) AS seen,
    CASE WHEN must_be_lit IS NOT NULL
        THEN 'A duty to light is recorded here: ask its source before anything changes, and correct the opening '
             || 'hours in the input if people are there longer.'
        WHEN held IS NOT NULL THEN 'Ask why it was left in hand; when the reason is gone, return it to its program.'
        WHEN device_first IS NOT NULL THEN device_first || '.'
        ELSE 'Ask first who is inside after closing: cleaners, late staff, residents. Correct the hours in the input '
             || 'if they are wrong; else let the program follow the people, with a timed override.'
            || also(coalesce(off_words, 'by the hours given it closes at ' || closing_words))
    END AS remedy,
    NULL AS missing
FROM scope JOIN circuit_figures USING (site_id, controller_id, circuit_id) JOIN worked USING (circuit_id) CROSS JOIN period
WHERE hours_known AND closed_minutes > $closed_share * site_closed_minutes
UNION ALL
SELECT site_id, 'circuit', circuit_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'hours'
FROM scope WHERE NOT hours_known
ORDER BY site_id, subject_id
