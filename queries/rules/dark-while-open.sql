--: name = "dark-while-open"
--: title = "Programmed dark while people are there"
--: severity = "critical"
--: subject = "circuit"
--: needs = ["hours"]
--: fix = "device"
--: after = ["sun-location-off"]
--: params.stretch_minutes = { default = 30, unit = "min", meaning = "a longer dark stretch while open is a finding" }
--
-- What goes wrong. Fixed clock times that were right in June leave the lot dark in December; a clock misses the change
-- to standard time; AM and PM are swapped; a season or a holiday program does not know the late opening.
-- Why it matters. People fall, and people are attacked, where a lot or a way out is dark while they come and go. Courts
-- have let juries judge owners who knew that automatic lights were off. Egress paths must be lit whenever the building
-- is occupied. A report is notice: an unanswered line can hurt its owner.
-- On site. Be there half an hour after sunset on an open day. Compare the device's clock with the true time first.
-- What good looks like. On at sunset at the latest, off not before everybody has left; by sun steps or a photocontrol
-- rather than by clock times.
-- Source: NFPA 101 7.8.1 (egress lit while occupied); WAC 296-832-30015 (lots lit all night hours open, late retail);
-- Christian v. Ayers (Tenn. App. 2014). The stretch of 30 minutes: common practice, no source.

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
    WHERE kind = 'dark-while-open' AND seconds(start_utc, end_utc) > $stretch_minutes * 60
    GROUP BY circuit_id
), edges AS (         -- from the few to the many: a table of all openings of a fleet would fill the memory
    SELECT circuit_id, bool_or(opening.start_utc = longest.span_starts) AS at_opening,
        bool_or(opening.end_utc = longest.span_ends) AS at_closing
    FROM totals JOIN scope USING (circuit_id) JOIN site_spans AS opening USING (site_id)
    WHERE opening.kind = 'open' AND (opening.start_utc = longest.span_starts OR opening.end_utc = longest.span_ends)
    GROUP BY circuit_id
), worked AS (
    SELECT totals.*, scope.*, began.words AS began, began.sourced AS began_sourced, ended.words AS ended,
        ended.sourced AS ended_sourced,
        device_first(scope.controller_id, totals.circuit_id, longest.starts) AS device_first,
        photocontrols_out(totals.circuit_id, longest.starts) AS photocontrols_out,
        local(timezone, longest.starts) AS worst_start, local(timezone, longest.ends) AS worst_end,
        local(timezone, longest.span_starts) AS span_start, local(timezone, longest.span_ends) AS span_end,
        staff_margin_s, coalesce(at_opening, false) AS at_opening, coalesce(at_closing, false) AS at_closing
    FROM totals
    JOIN scope USING (circuit_id)
    LEFT JOIN edges ON edges.circuit_id = totals.circuit_id
    LEFT JOIN step_words AS began ON began.controller_id = scope.controller_id AND began.event_id = longest.event_id
    LEFT JOIN step_words AS ended ON ended.controller_id = scope.controller_id AND ended.event_id = longest.end_event_id
    CROSS JOIN period
    WHERE hours_known
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, NULL AS severity,
    dark_minutes AS minutes, NULL AS kwh,
    local(timezone, first_utc)::DATE AS first_date, last_day(timezone, last_utc) AS last_date,
    format('Programmed dark while open, {} in {:d} stretch{} of more than {:d} min.',
        minutes_words(dark_minutes), stretches, CASE WHEN stretches = 1 THEN '' ELSE 'es' END,
        $stretch_minutes::BIGINT) AS summary,
    format('On {} the site is open and it is dark from {}{} to {}, and this circuit is programmed off ({}).',
        day_words(worst_start), clock_words(worst_start), device_words(controller_id, longest.starts, worst_start),
        clock_words(worst_end), minutes_words(seconds(longest.starts, longest.ends) / 60))
        || cause_words(held, began_sourced, ended_sourced, photocontrols_out) || unused_words(circuit_id) AS seen,
    'Go first where people walk in the dark. ' || CASE
        WHEN area = 'egress'
        THEN format('A way out must be lit whenever anybody is inside: check the device''s clock, date and hand '
                    || 'switch, then have this circuit lit through every dark hour; on that date from {} to {} at '
                       || 'least.{}',
            clock_words(span_start), clock_words(span_end), also(CASE WHEN held IS NOT NULL
                THEN 'its hand switch comes first: as it stands, no program lights it' ELSE device_first END))
        WHEN must_be_lit IS NOT NULL
        THEN format('A duty to light is recorded here: check the device''s clock, date and hand switch, then have '
                    || 'this circuit lit through every hour that the duty names, and every dark hour with people; on '
                       || 'that date from {} to {} at least.{}',
            clock_words(span_start), clock_words(span_end), also(CASE WHEN held IS NOT NULL
                THEN 'its hand switch comes first: as it stands, no program lights it' ELSE device_first END))
        WHEN held IS NOT NULL
        THEN 'Return it from the hand switch to its program, and see that the program keeps it lit while people are '
             || 'there.'
        WHEN device_first IS NOT NULL THEN device_first || '.'
        WHEN photocontrols_out IS NOT NULL AND coalesce(combine, 'any') = 'any'
        THEN format('Bring the photocontrol back into service that would light it: {}.', photocontrols_out)
        WHEN longest.starts > longest.span_starts AND ended IS NOT NULL
        THEN format('Let no gap be between {} and {}.', began, ended)
        WHEN longest.starts > longest.span_starts AND at_closing
        THEN format('Let {} wait until everybody has left, half an hour after closing ({} on that date).', began,
            clock_words(span_end + to_seconds(staff_margin_s)))
        WHEN longest.starts > longest.span_starts
        THEN format('Let {} wait for sunrise ({} on that date).', began, clock_words(span_end))
        WHEN at_opening AND ended IS NOT NULL
        THEN format('Let {} come half an hour before opening ({} on that date).', ended,
            clock_words(span_start - to_seconds(staff_margin_s)))
        WHEN at_opening
        THEN format('Add an on half an hour before opening ({} on that date), and keep the light until sunrise.',
            clock_words(span_start - to_seconds(staff_margin_s)))
        WHEN ended IS NOT NULL
        THEN format('Let {} come at sunset at the latest ({} on that date).', ended, clock_words(span_start))
        WHEN at_closing
        THEN format('Nothing turns it on in time on that date: let an on come at sunset ({}), and keep the light until '
            || 'everybody has left.', clock_words(span_start))
        ELSE format('Nothing turns it on on that date: let an on come at sunset ({}), and keep the light until sunrise.',
            clock_words(span_start))
    END || CASE WHEN area = 'egress' OR must_be_lit IS NOT NULL THEN ''
        ELSE format(' On that date it is dark and open from {} to {}: it must be lit through all of it.', clock_words(span_start), clock_words(span_end))
    END AS remedy,
    NULL AS missing
FROM worked
UNION ALL
SELECT site_id, 'circuit', circuit_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'hours'
FROM scope WHERE NOT hours_known
ORDER BY site_id, subject_id
