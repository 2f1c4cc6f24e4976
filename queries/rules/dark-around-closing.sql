--: name = "dark-around-closing"
--: title = "Programmed dark as people arrive or leave"
--: severity = "high"
--: subject = "circuit"
--: needs = ["hours"]
--: fix = "device"
--: after = ["dark-while-open", "sun-location-off"]
--: params.stretch_minutes = { default = 20, unit = "min", meaning = "a longer dark stretch in one of the windows is a finding" }
--
-- What goes wrong. The off stands at the minute of closing, the on at the minute of opening. The last customers are
-- still walking to their cars, the first staff unlock in the dark.
-- Why it matters. People are alone then, and carry the cash or the keys. A lot that goes dark at closing is no excuse in
-- court when somebody falls.
-- On site. Ask who locks up and when the last car leaves; be there at closing on a winter evening.
-- What good looks like. Light until at least half an hour after closing, and from half an hour before opening.
-- Source: property-management practice; the half hour and the 20 minutes: common practice, no source.

WITH scope AS (
    SELECT circuits.*, sites.*, sites.site_id IN (SELECT site_id FROM hours) AS hours_known,
        coalesce(circuits.hold, controllers.hold) AS held
    FROM circuits JOIN controllers USING (controller_id) JOIN sites USING (site_id)
    WHERE coalesce(circuits.in_use, true) AND area IN ('parking', 'walkway', 'canopy', 'egress')
), totals AS (
    SELECT circuit_id, count(*) AS stretches,
        sum(seconds(start_utc, end_utc)) / 60 AS dark_minutes,
        min(start_utc) AS first_utc, max(end_utc) AS last_utc,
        arg_max({'starts': start_utc, 'ends': end_utc, 'span_starts': span_start_utc, 'span_ends': span_end_utc,
                 'event_id': event_id, 'end_event_id': end_event_id},
                (seconds(start_utc, end_utc), -epoch(start_utc))) AS longest
    FROM exposures
    WHERE kind = 'dark-around-closing' AND seconds(start_utc, end_utc) > $stretch_minutes * 60
    GROUP BY circuit_id
), worked AS (
    SELECT totals.*, scope.*, began.words AS began, began.sourced AS began_sourced, ended.words AS ended,
        ended.sourced AS ended_sourced,
        device_first(scope.controller_id, totals.circuit_id, longest.starts) AS device_first,
        photocontrols_out(totals.circuit_id, longest.starts) AS photocontrols_out,
        local(timezone, longest.starts) AS worst_start, local(timezone, longest.ends) AS worst_end,
        local(timezone, longest.span_starts) AS span_start, local(timezone, longest.span_ends) AS span_end,
        EXISTS (FROM site_spans AS opening WHERE opening.kind = 'open' AND opening.site_id = scope.site_id
                AND opening.start_utc >= longest.span_ends
                AND opening.start_utc <= longest.span_starts + to_seconds(staff_margin_s)) AS before_opening
    FROM totals
    JOIN scope USING (circuit_id)
    LEFT JOIN step_words AS began ON began.controller_id = scope.controller_id AND began.event_id = longest.event_id
    LEFT JOIN step_words AS ended ON ended.controller_id = scope.controller_id AND ended.event_id = longest.end_event_id
    CROSS JOIN period
    WHERE hours_known AND circuit_id NOT IN (SELECT subject_id FROM verdicts WHERE rule = 'dark-while-open' AND missing IS NULL)
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, NULL AS severity,
    dark_minutes AS minutes, NULL AS kwh,
    local(timezone, first_utc)::DATE AS first_date, last_day(timezone, last_utc) AS last_date,
    format('Programmed dark around closing or opening, {:d} time{}.', stretches, CASE WHEN stretches = 1 THEN '' ELSE 's' END) AS summary,
    format('On {} it is dark from {}{} to {} while people arrive or leave, and this circuit is programmed off ({}).',
        day_words(worst_start), clock_words(worst_start), device_words(controller_id, longest.starts, worst_start),
        clock_words(worst_end), minutes_words(seconds(longest.starts, longest.ends) / 60))
        || cause_words(held, began_sourced, ended_sourced, photocontrols_out) AS seen,
    format('Ask when the last person leaves and the first one comes: this light must be lit for both, with half an '
           || 'hour to spare; on that date from {} to {} at least.',
        clock_words(span_start), clock_words(span_end))
        || CASE
            WHEN area = 'egress' OR must_be_lit IS NOT NULL THEN ''
            WHEN held IS NOT NULL THEN ' Return it from the hand switch to its program.'
            WHEN device_first IS NOT NULL THEN format(' {}.', device_first)
            WHEN photocontrols_out IS NOT NULL AND coalesce(combine, 'any') = 'any'
            THEN format(' Bring the photocontrol back into service that would light it: {}.', photocontrols_out)
            WHEN ended IS NOT NULL THEN format(' Let {} come by {} on that date.', ended, clock_words(worst_start))
            WHEN before_opening AND longest.starts > longest.span_starts
            THEN format(' Let {} wait until opening, or sunrise where that is earlier ({} on that date).', began, clock_words(span_end))
            WHEN before_opening
            THEN format(' Add an on by {} on that date, half an hour before opening, and keep the light until sunrise.',
                clock_words(span_start))
            WHEN began IS NOT NULL THEN format(' Let {} come no earlier than {} on that date.', began, clock_words(span_end))
            ELSE ''
        END AS remedy,
    NULL AS missing
FROM worked
UNION ALL
SELECT site_id, 'circuit', circuit_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'hours'
FROM scope WHERE NOT hours_known
ORDER BY site_id, subject_id
