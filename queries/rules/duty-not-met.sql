--: name = "duty-not-met"
--: title = "A duty to light is not met"
--: severity = "critical"
--: subject = "circuit"
--: needs = ["hours"]
--: fix = "device"
--: after = ["sun-location-off"]
--: params.stretch_minutes = { default = 30, unit = "min", meaning = "a longer stretch without the light asked for is a finding" }
--
-- What goes wrong. A law, a lease or an insurer asks for light, always, in the dark, or in the dark while open; the
-- program was set by somebody who did not know, or the clock moved it.
-- Why it matters. Cash machines, late retail and ways out have such duties; missing one costs fines, cover and cases.
-- On site. Read the duty itself, not a summary; its definition of darkness may begin half an hour before sunset.
-- What good looks like. The light on, not merely allowed to come on by a detector, whenever the duty asks for it.
-- Source: for instance California Financial Code 13041 (cash machines, hours of darkness), WAC 296-832-30015 (late
-- retail); the duty recorded in must_be_lit counts. The stretch of 30 minutes: common practice, no source.

WITH scope AS (
    SELECT circuits.*, sites.*, coalesce(circuits.hold, controllers.hold) AS held,
        must_be_lit <> 'open' OR sites.site_id IN (SELECT site_id FROM hours) AS known
    FROM circuits JOIN controllers USING (controller_id) JOIN sites USING (site_id)
    WHERE coalesce(circuits.in_use, true) AND must_be_lit IS NOT NULL
), totals AS (
    SELECT circuit_id, count(*) AS stretches,
        sum(seconds(start_utc, end_utc)) / 60 AS dark_minutes,
        min(start_utc) AS first_utc, max(end_utc) AS last_utc,
        arg_max({'starts': start_utc, 'ends': end_utc, 'span_starts': span_start_utc, 'span_ends': span_end_utc,
                 'event_id': event_id, 'end_event_id': end_event_id},
                (seconds(start_utc, end_utc), -epoch(start_utc))) AS longest
    FROM exposures
    WHERE kind = 'duty-not-met' AND seconds(start_utc, end_utc) > $stretch_minutes * 60
    GROUP BY circuit_id
), worked AS (
    SELECT totals.*, scope.*, began.words AS began, began.sourced AS began_sourced, ended.words AS ended,
        ended.sourced AS ended_sourced,
        device_first(scope.controller_id, totals.circuit_id, longest.starts) AS device_first,
        photocontrols_out(totals.circuit_id, longest.starts) AS photocontrols_out,
        photocontrols_named(totals.circuit_id, longest.starts) AS sensors_out,
        local(timezone, longest.starts) AS worst_start, local(timezone, longest.ends) AS worst_end,
        local(timezone, longest.span_starts) AS span_start, local(timezone, longest.span_ends) AS span_end,
        CASE must_be_lit WHEN 'always' THEN 'always' WHEN 'dark' THEN 'whenever it is dark'
                         ELSE 'while it is dark and the site is open' END AS duty
    FROM totals
    JOIN scope USING (circuit_id)
    LEFT JOIN step_words AS began ON began.controller_id = scope.controller_id AND began.event_id = longest.event_id
    LEFT JOIN step_words AS ended ON ended.controller_id = scope.controller_id AND ended.event_id = longest.end_event_id
    WHERE known
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, NULL AS severity,
    dark_minutes AS minutes, NULL AS kwh,
    local(timezone, first_utc)::DATE AS first_date, last_day(timezone, last_utc) AS last_date,
    format('Must be lit {}, and is not programmed on for {}.', duty, minutes_words(dark_minutes)) AS summary,
    format('From {} at {}{} to {} at {} light is asked for, and this circuit is programmed off, or left to a detector.',
        day_words(worst_start), clock_words(worst_start), device_words(controller_id, longest.starts, worst_start),
        day_words(worst_end), clock_words(worst_end))
        || cause_words(held, began_sourced, ended_sourced, photocontrols_out) || unused_words(circuit_id) AS seen,
    CASE
        WHEN held IS NOT NULL
        THEN 'Its hand switch comes first: as it stands, no program lights it. '
        WHEN device_first IS NOT NULL THEN device_first || '. '
        WHEN sensors_out IS NOT NULL AND coalesce(combine, 'any') = 'any'
        THEN format('What would light it is out of service then: {}. ', sensors_out)
        WHEN longest.event_id IS NOT NULL THEN format('The light is missing after step {}. ', longest.event_id)
        ELSE ''
    END || format('Read the duty itself{}; then have this circuit programmed on {}.',
        coalesce(' (' || exempt_reason || ')', ''),
        CASE must_be_lit WHEN 'always' THEN 'at all times'
             ELSE format('{}, with time to spare at both ends (here from {} at {} to {} at {}, for instance)', duty,
                 day_words(span_start), clock_words(span_start), day_words(span_end), clock_words(span_end)) END) AS remedy,
    NULL AS missing
FROM worked
UNION ALL
SELECT site_id, 'circuit', circuit_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'hours'
FROM scope WHERE NOT known
ORDER BY site_id, subject_id
