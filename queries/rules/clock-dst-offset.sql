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
    SELECT controller_id, site_id, date, max(abs(error_s - nearest_s)) AS off_s, arg_max(error_s, abs(error_s - nearest_s)) AS error_s
    FROM clock_errors
    JOIN clock_verdicts USING (controller_id)
    JOIN controllers USING (controller_id)
    JOIN site_days USING (site_id)
    WHERE errors > 1 AND error_s <> nearest_s
      AND clock_errors.start_utc < site_days.end_utc AND clock_errors.end_utc > site_days.start_utc
    GROUP BY controller_id, site_id, date
), totals AS (
    SELECT controller_id, site_id, count(*) AS dates, min(date) AS first_date, max(date) AS last_date,
        min(date) FILTER (date > local(timezone, read_at_utc)::DATE) AS next_date,
        arg_min(error_s, date) AS first_error_s
    FROM wrong_dates JOIN scope USING (controller_id, site_id)
    GROUP BY controller_id, site_id
)
SELECT site_id, 'controller' AS subject_kind, controller_id AS subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, first_date, last_date,
    format('The clock is an hour-change off on {:d} dates, the first {}, the last {}.', dates,
        strftime(first_date, '%-d %B %Y'), strftime(last_date, '%-d %B %Y')) AS summary,
    format('On {} the device shows {} local time; on its better dates {}.{}',
        day_words(first_date), error_words(first_error_s),
        CASE WHEN nearest_s = 0 THEN 'it is right' ELSE error_words(nearest_s) || ' local time' END,
        CASE WHEN next_date IS NULL THEN ' No wrong date comes after the reading.'
             ELSE format(' The next wrong date after the reading is {}.', day_words(next_date)) END) AS seen,
    'Set the device''s daylight-saving rule to the one of its zone and check date and time; until then every clock step runs early or late on these dates.' AS remedy,
    NULL AS missing
FROM totals JOIN clock_verdicts USING (controller_id)
WHERE controller_id NOT IN (SELECT controller_id FROM undecided)
UNION ALL
SELECT site_id, 'controller', controller_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'dst_rule'
FROM undecided JOIN controllers USING (controller_id)
ORDER BY site_id, subject_id
