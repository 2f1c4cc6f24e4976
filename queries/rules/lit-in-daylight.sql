--: name = "lit-in-daylight"
--: title = "Exterior lights programmed on in daylight"
--: severity = "medium"
--: subject = "circuit"
--: needs = []
--: fix = "device"
--: after = ["sun-location-off"]
--: money = true
--: params.stretch_minutes = { default = 5, unit = "min", meaning = "shorter stretches do not count" }
--: params.total_minutes = { default = 60, unit = "min in the period", meaning = "more than this is a finding" }
--: params.high_minutes = { default = 12000, unit = "min a year", meaning = "above it the severity is high" }
--
-- What goes wrong. A time switch was never programmed, its on and off were swapped between morning and evening, a
-- season was not followed, or a photocontrol stays out of service after a test: the lot burns while the sun shines.
-- Nobody notices, because rounds are made by day and lamps that burn by day look like lamps that work.
-- Why it matters. Energy and lamp life for nothing; energy codes ask that exterior lighting is off while daylight
-- suffices.
-- On site. Stand there an hour after sunrise. If the lamps are lit, compare the device's clock, date and location
-- with the true ones first: a wrong clock moves every step. Then read its program and its hand switch.
-- What good looks like. On at sunset or a few minutes after, off at sunrise or before, by astronomic steps or a
-- photocontrol; nothing between half an hour after sunrise and half an hour before sunset.
-- Source: IECC C405.2.7.1 (2021) and ANSI/ASHRAE/IES 90.1 section 9.4.1.4 ask for shutoff in daylight; a survey of a
-- chain of 2,500 stores found exterior lights on around the clock at most sites (Consulting-Specifying Engineer,
-- "Commissioning lighting systems"). The margin of 30 minutes and the thresholds: common practice, no source.

WITH scope AS (
    SELECT circuits.*, sites.*, coalesce(circuits.hold, controllers.hold) AS held
    FROM circuits JOIN controllers USING (controller_id) JOIN sites USING (site_id)
    WHERE coalesce(circuits.in_use, true)
      AND area NOT IN ('interior', 'egress', 'security') AND must_be_lit IS DISTINCT FROM 'always'
), totals AS (
    SELECT circuit_id,
        sum(seconds(start_utc, end_utc)) / 60 AS lit_minutes,
        min(start_utc) AS first_utc, max(end_utc) AS last_utc,
        arg_max({'starts': start_utc, 'ends': end_utc, 'day_starts': span_start_utc, 'day_ends': span_end_utc,
                 'event_id': event_id, 'end_event_id': end_event_id},
                (seconds(start_utc, end_utc), -epoch(start_utc))) AS longest
    FROM exposures
    WHERE kind = 'lit-in-daylight' AND seconds(start_utc, end_utc) >= $stretch_minutes * 60
    GROUP BY circuit_id
    HAVING lit_minutes > $total_minutes
), worked AS (   -- the longest stretch, by the site's own clock; the sun rose and sets a margin outside daylight
    SELECT totals.*, scope.*, daylight_kwh, days, began.words AS began, began.sourced AS began_sourced, ended.words AS ended,
        ended.sourced AS ended_sourced, on_words,
        device_first(scope.controller_id, totals.circuit_id, longest.starts) AS device_first,
        photocontrols_out(totals.circuit_id, longest.starts) AS photocontrols_out,
        local(timezone, longest.starts) AS worst_start, local(timezone, longest.ends) AS worst_end,
        local(timezone, longest.day_starts - to_seconds(daylight_margin_s)) AS sunrise,
        local(timezone, longest.day_ends + to_seconds(daylight_margin_s)) AS sunset,
        longest.day_starts + (longest.day_ends - longest.day_starts) / 2 AS noon_utc,
        longest.starts > longest.day_starts AND longest.starts >= noon_utc AS from_noon_on,
        longest.starts > longest.day_starts AND longest.starts < noon_utc
            OR (scope.controller_id, longest.event_id) IN (   -- it may have come between sunrise and the margin after it
                SELECT (controller_id, event_id) FROM events
                WHERE anchor = 'clock' AND time_s >= 10800 AND time_s < 43200 AND action <> 'off'
            ) AS from_morning,
        longest.ends < longest.day_ends AS into_morning, longest.ends < noon_utc AS ended_before_noon
    FROM totals
    JOIN scope USING (circuit_id)
    JOIN circuit_figures AS figures ON figures.circuit_id = totals.circuit_id
    LEFT JOIN step_words AS began ON began.controller_id = scope.controller_id AND began.event_id = longest.event_id
    LEFT JOIN step_words AS ended ON ended.controller_id = scope.controller_id AND ended.event_id = longest.end_event_id
    LEFT JOIN peer_words ON peer_words.circuit_id = totals.circuit_id
    CROSS JOIN period
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id,
    CASE WHEN lit_minutes > $high_minutes * days / 365 THEN 'high' END AS severity,
    lit_minutes AS minutes, daylight_kwh AS kwh,
    local(timezone, first_utc)::DATE AS first_date, last_day(timezone, last_utc) AS last_date,
    format('Programmed on in daylight for {}.', minutes_words(lit_minutes)) AS summary,
    format('On {} it is programmed on in daylight from {}{} to {}{} ({}){}.',
        day_words(worst_start), clock_words(worst_start), device_words(controller_id, longest.starts, worst_start),
        CASE WHEN worst_end::DATE <> worst_start::DATE THEN day_words(worst_end) || ', ' ELSE '' END, clock_words(worst_end),
        minutes_words(seconds(longest.starts, longest.ends) / 60),
        CASE WHEN sunrise::DATE = sunset::DATE
            THEN format('; sunrise is at {}, sunset at {}', clock_words(sunrise), clock_words(sunset))
            ELSE '; the sun does not set between' END)
        || cause_words(held, began_sourced, ended_sourced, photocontrols_out) AS seen,
    CASE
        WHEN must_be_lit IS NOT NULL
        THEN 'A duty to light is recorded here: ask its source before anything changes. Then check clock, date and '
             || 'location of the device, its hand switch, and a photocontrol left out of service.'
        WHEN held IS NOT NULL
        THEN 'Ask why it was left in hand, and whether anybody relies on this light by day; if nobody does, return '
             || 'it to its program.'
        WHEN device_first IS NOT NULL THEN device_first || '.'
        WHEN photocontrols_out IS NOT NULL AND combine = 'all'
        THEN format('Bring the photocontrol back into service that would keep it off by day: {}. It must be in '
                    || 'service from sunrise to sunset.', photocontrols_out)
        ELSE 'Ask whether anybody relies on this light by day. If nobody does, '
            || CASE
                WHEN from_noon_on AND NOT into_morning
                THEN format('let {} come at sunset at the earliest ({} on that date).', coalesce(began, 'the on'), clock_words(sunset))
                    || CASE WHEN on_words LIKE '%before%' THEN '' ELSE also(on_words) END
                WHEN from_noon_on
                THEN 'let the on come at sunset at the earliest, and give every on an off at sunrise.'
                WHEN from_morning   -- it serves whoever comes in the dark half of the year
                THEN format('keep {} for those who come while it is dark, and let the light decide: a photocontrol '
                            || 'in series, or '
                    || 'dates on which it is dark at that time (on that date the sun rises at {}).', coalesce(began, 'the on'),
                    clock_words(sunrise))
                WHEN ended IS NOT NULL AND ended_before_noon
                THEN format('let {} come at sunrise at the latest ({} on that date).', ended, clock_words(sunrise))
                WHEN ended IS NOT NULL
                THEN format('add an off at sunrise ({} on that date): in this season {} comes before the on of the '
                            || 'same evening, '
                    || 'and the light stays on until the next.', clock_words(sunrise), ended)
                ELSE format('add an off at sunrise ({} on that date): nothing ends it in the morning.', clock_words(sunrise))
            END
    END AS remedy,
    NULL AS missing
FROM worked
ORDER BY site_id, subject_id
