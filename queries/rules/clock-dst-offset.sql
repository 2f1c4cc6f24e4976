--: name = "clock-dst-offset"
--: title = "Clock misses a change between standard and daylight time"
--: severity = "high"
--: subject = "controller"
--: needs = ["dst_rule"]
--: fix = "device"
--
-- What goes wrong. The device follows no daylight saving time where the law does, or follows it where the law gave it
-- up, or runs the dates of an older law: after 2007 many embedded calendars in the United States were wrong for weeks
-- in spring and autumn.
-- Why it matters. Every clock step then runs an hour early or late for months: light in the evening moves to the
-- morning. It costs no kWh at all, so a ranking by money buries it, but people walk in the dark.
-- On site. Hold the device's displayed date and time, and its daylight-saving setting, against the true local time.
-- What good looks like. The device's rule is the one of its zone, changed by itself on the right dates.
-- Source: 15 USC 260a (second Sunday of March to first Sunday of November); Directive 2000/84/EC (last Sundays of March
-- and October, 01:00 UTC); the tzdata package for what the law of a zone is on a date.

WITH scope AS (
    SELECT controllers.* EXCLUDE (latitude, longitude), sites.timezone, clocks.clock_no AS law_no, residual_s, read_at_utc
    FROM controllers
    JOIN sites USING (site_id)
    JOIN device_clocks USING (controller_id)
    JOIN clocks ON clock = timezone
), law AS (        -- the offsets that the zone has in the audited period
    SELECT clock_no AS law_no, count(DISTINCT offset_s) AS offsets, min(offset_s) AS lower_s
    FROM clock_offsets CROSS JOIN period
    WHERE end_s + offset_s > epoch(first_date) AND start_s + offset_s < epoch(first_date + days)
    GROUP BY clock_no
), undecided AS (  -- a device that only showed the right winter time may or may not follow the law in summer
    SELECT controller_id
    FROM scope JOIN law USING (law_no)
    JOIN clock_offsets AS at_reading ON at_reading.clock_no = law_no
        AND epoch(read_at_utc) >= start_s AND epoch(read_at_utc) < end_s
    WHERE offsets > 1 AND dst_rule IS NULL
      AND (clock_reading_local IS NULL
           OR at_reading.offset_s = lower_s
              AND abs(seconds(read_at_utc, clock_reading_local) - at_reading.offset_s) <= 300)
), wrong_dates AS (
    SELECT DISTINCT controller_id, site_id, date
    FROM clock_errors
    JOIN clock_verdicts USING (controller_id)
    JOIN controllers USING (controller_id)
    JOIN site_days USING (site_id)
    WHERE errors > 1 AND error_s <> nearest_s
      AND clock_errors.start_utc < site_days.end_utc AND clock_errors.end_utc > site_days.start_utc
), totals AS (
    SELECT controller_id, site_id, count(*) AS dates, min(date) AS first_date, max(date) AS last_date,
        min(date) FILTER (date > local(timezone, read_at_utc)::DATE) AS next_date
    FROM wrong_dates JOIN scope USING (controller_id, site_id)
    GROUP BY controller_id, site_id
), wrong AS (       -- stretches on which the clock is off by a change that it missed
    SELECT controller_id, start_utc, end_utc, error_s, nearest_s, whole_dates, clock_errors.first_date, clock_errors.last_date,
        format('{} {} from {} to {}', minutes_words(abs(error_s) / 60),
            CASE WHEN error_s < 0 THEN 'late' ELSE 'early' END,
            strftime(local(timezone, start_utc), '%-d %B %Y'), strftime(last_day(timezone, end_utc), '%-d %B %Y')) AS words
    FROM clock_errors JOIN clock_verdicts USING (controller_id) JOIN scope USING (controller_id)
    WHERE errors > 1 AND error_s <> nearest_s
), shown AS (       -- the first wrong date after the reading, else of the period; the first stretches in words
    SELECT controller_id,
        arg_min({'date': CASE WHEN last_date > read_date THEN greatest(first_date, read_date + 1) ELSE first_date END, 'error_s': error_s},
                (last_date <= read_date, first_date)) AS worked,
        array_to_string(list(words ORDER BY start_utc)[:4], ', ') || CASE WHEN count(*) > 4 THEN ' and so on' ELSE '' END AS words
    FROM wrong JOIN (SELECT controller_id, local(timezone, read_at_utc)::DATE AS read_date FROM scope) USING (controller_id)
    WHERE whole_dates > 0
    GROUP BY controller_id
), consequences AS (   -- hours of all its circuits together that a clock step begins or ends
    SELECT controller_id,
        sum(seconds(greatest(exposures.start_utc, wrong.start_utc), least(exposures.end_utc, wrong.end_utc)) / 3600)
            FILTER (kind = 'lit-in-daylight' AND must_be_lit IS DISTINCT FROM 'always') AS daylight_hours,
        sum(seconds(greatest(exposures.start_utc, wrong.start_utc), least(exposures.end_utc, wrong.end_utc)) / 3600)
            FILTER (kind = 'dark-while-open') AS dark_hours
    FROM exposures JOIN circuits USING (circuit_id) JOIN wrong USING (controller_id)
    JOIN (SELECT controller_id, list(event_id) AS clock_steps FROM events WHERE anchor = 'clock' GROUP BY controller_id)
        AS programs USING (controller_id)
    WHERE kind IN ('lit-in-daylight', 'dark-while-open')
      AND exposures.start_utc < wrong.end_utc AND exposures.end_utc > wrong.start_utc
      AND (list_contains(clock_steps, end_event_id)
           OR list_contains(clock_steps, event_id) AND exposures.start_utc > span_start_utc)
    GROUP BY controller_id
), next_changes AS (   -- the law's, after the reading
    SELECT controller_id, list(local(timezone, change_utc)::DATE ORDER BY change_utc)[:2] AS dates
    FROM scope
    JOIN (SELECT clock_no AS law_no, utc(start_s) AS change_utc FROM clock_offsets) AS changes USING (law_no)
    WHERE change_utc > read_at_utc
    GROUP BY controller_id
)
SELECT site_id, 'controller' AS subject_kind, controller_id AS subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, first_date, last_date,
    format('The clock is off by a missed change on {:d} date{} (parts of dates count), the first {}, the last {}.', totals.dates,
        CASE WHEN totals.dates = 1 THEN '' ELSE 's' END,
        strftime(first_date, '%-d %B %Y'), strftime(last_date, '%-d %B %Y')) AS summary,
    format('On {} at 12:00 the device shows {} ({} local time); on its better dates {}.{}',
        day_words(worked.date), clock_words(worked.date + INTERVAL 12 HOUR + to_seconds(worked.error_s)),
        error_words(worked.error_s),
        CASE WHEN abs(nearest_s) < 60 THEN 'it is right to the minute' ELSE 'it shows ' || error_words(nearest_s) || ' local time' END,
        CASE WHEN next_date IS NULL THEN ' No wrong date comes after the reading.'
             ELSE format(' The next wrong date after the reading is {}.', day_words(next_date)) END) AS seen,
    format('Set the daylight-saving rule of the device to the one of {} ({}), and check date and time. Until then '
           || 'every clock step runs {}.',
        timezone,
        CASE WHEN next_changes.dates IS NULL THEN 'no changes ahead'
             ELSE 'next changes on ' || array_to_string(list_transform(next_changes.dates, lambda d: strftime(d, '%-d %B %Y')), ' and ') END,
        shown.words)
        || also('in that time its clock steps leave circuits lit in daylight for ' || minutes_words(daylight_hours * 60))
        || also('in that time its clock steps leave circuits dark while the site is open for ' || minutes_words(dark_hours * 60)) AS remedy,
    NULL AS missing
FROM totals
JOIN clock_verdicts USING (controller_id)
JOIN scope USING (controller_id, site_id)
LEFT JOIN next_changes USING (controller_id)
LEFT JOIN consequences USING (controller_id)
JOIN shown USING (controller_id)
WHERE controller_id NOT IN (SELECT controller_id FROM undecided)
UNION ALL
SELECT site_id, 'controller', controller_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'dst_rule'
FROM undecided JOIN controllers USING (controller_id)
ORDER BY site_id, subject_id
