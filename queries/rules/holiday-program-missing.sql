--: name = "holiday-program-missing"
--: title = "No holiday program where one is listed"
--: severity = "low"
--: subject = "controller"
--: needs = ["hours"]
--: fix = "device"
--: params.lit_minutes = { default = 60, unit = "min on one date", meaning = "on for more while closed is a finding" }
--
-- What goes wrong. The calendar knows the holiday, the device does not: it runs an ordinary day for nobody.
-- Why it matters. Light for a closed day, many times a year; energy codes ask for a holiday function that turns the loads off
-- for at least a day.
-- On site. Ask who enters the holidays and when; look whether the device has a list of its own.
-- What good looks like. Next year's dates entered before New Year, on every device.
-- Source: IECC C405.2.2.1 and Title 24 Part 6 110.9(b)1 (off for 24 hours on a holiday, then resume); the 60 minutes:
-- common practice, no source.

WITH scope AS (    -- interior lights and signs: what a holiday turns off
    SELECT circuit_id, controller_id, site_id, timezone, area, must_be_lit, site_id IN (SELECT site_id FROM hours) AS hours_known
    FROM circuits JOIN controllers USING (controller_id) JOIN sites USING (site_id)
    WHERE coalesce(in_use, true) AND area IN ('interior', 'sign')
), listed AS (
    SELECT DISTINCT scope.controller_id, scope.site_id, timezone, hours_known, date, calendar
    FROM scope JOIN site_closures USING (site_id) CROSS JOIN period
    WHERE calendar IS NOT NULL AND date BETWEEN first_date AND first_date + days - 1
), programmed AS (
    SELECT DISTINCT events.controller_id, calendar
    FROM (SELECT controller_id, calendar, unnest(targets) AS circuit_id FROM events WHERE calendar IS NOT NULL) AS events
    JOIN scope USING (circuit_id)
), bare AS (
    SELECT * FROM listed ANTI JOIN programmed USING (controller_id, calendar)
), lit AS (        -- how long each is on while closed on each listed date
    SELECT circuit_id, controller_id, local(timezone, start_utc)::DATE AS date,
        sum(seconds(start_utc, end_utc)) / 60 AS lit_minutes,
        arg_max({'starts': local(timezone, start_utc), 'ends': local(timezone, end_utc), 'event_id': event_id},
                (seconds(start_utc, end_utc), -epoch(start_utc))) AS longest
    FROM exposures JOIN scope USING (circuit_id)
    WHERE kind = 'lit-on-listed-date'
    GROUP BY circuit_id, controller_id, local(timezone, start_utc)::DATE
    HAVING lit_minutes > $lit_minutes
), totals AS (   -- shown: the circuit that is on longest on the first of these dates, one with a step in force before one held
    SELECT controller_id, site_id, count(DISTINCT date) AS dates,
        min(date) AS first_date, max(date) AS last_date,
        arg_min(calendar, (date, calendar)) AS first_calendar,
        arg_min(circuit_id, (date, longest.event_id IS NULL, -lit_minutes, circuit_id)) AS shown_circuit,
        arg_min(lit_minutes, (date, longest.event_id IS NULL, -lit_minutes, circuit_id)) AS shown_minutes,
        arg_min(longest, (date, longest.event_id IS NULL, -lit_minutes, circuit_id)) AS longest,
        list(DISTINCT date ORDER BY date) AS listed_dates
    FROM bare JOIN lit USING (controller_id, date)
    WHERE hours_known
    GROUP BY controller_id, site_id
), neighbours AS (  -- devices of this portfolio that have steps for a calendar
    SELECT calendar AS first_calendar, count(DISTINCT controller_id) AS with_program FROM programmed GROUP BY calendar
), asked AS (
    SELECT calendar AS first_calendar, count(DISTINCT controller_id) AS devices FROM listed GROUP BY calendar
), worked AS (
    SELECT *, totals.dates AS number,
        array_to_string(list_transform(listed_dates[:12], lambda d: strftime(d, '%-d %B %Y')), ', ')
            || CASE WHEN len(listed_dates) > 12 THEN ' and so on' ELSE '' END AS date_words
    FROM totals JOIN asked USING (first_calendar) LEFT JOIN neighbours USING (first_calendar)
    LEFT JOIN step_words ON step_words.controller_id = totals.controller_id AND step_words.event_id = longest.event_id
)
SELECT site_id, 'controller' AS subject_kind, controller_id AS subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, first_date, last_date,
    format('Runs an ordinary program on {:d} listed date{}.', dates, CASE WHEN dates = 1 THEN '' ELSE 's' END) AS summary,
    format('On {} (calendar {}) the site is closed, and circuit {} is programmed on for {} outside its hours, '
           || 'longest from {} to {}.',
        day_words(first_date), first_calendar, shown_circuit, minutes_words(shown_minutes),
        clock_words(longest.starts), clock_words(longest.ends)) || also('in force then: ' || sourced) AS seen,
    CASE WHEN controller_id IN (SELECT subject_id FROM relied_on WHERE subject_kind = 'controller')
        THEN 'Ask who is there on these dates, and which light a duty or a way out needs on them: that light stays '
             || 'as it is. Then enter the dates on the device for the other circuits, and next year''s with them: ' || date_words || '.'
        ELSE format('Ask who is there on these dates. Then enter them on the device with a program for the day, and '
                    || 'next year''s with them: {}.', date_words)
    END || CASE WHEN with_program > 0
        THEN format(' {:d} of {:d} devices in this portfolio that calendar {} concerns have steps for it.', with_program, devices, first_calendar)
        ELSE '' END AS remedy,
    NULL AS missing
FROM worked
UNION ALL
SELECT DISTINCT site_id, 'controller', controller_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'hours'
FROM bare WHERE NOT hours_known
ORDER BY site_id, subject_id
