--: name = "clock-drift"
--: title = "Clock has drifted"
--: severity = "low"
--: subject = "controller"
--: needs = ["clock_reading"]
--: fix = "device"
--: params.drift_minutes = { default = 5, unit = "min", meaning = "an error above it is a finding" }
--: params.medium_minutes = { default = 10, unit = "min", meaning = "above it the severity is medium" }
--: params.near_minutes = { default = 3, unit = "min", meaning = "nearer than this to a whole number of half hours is a wrong zone instead" }
--
-- What goes wrong. Clocks run fast or slow; mechanical ones most. Nobody sets them between the two changes of the year.
-- Why it matters. Every clock step and every sun step moves with the clock.
-- On site. Note the displayed and the true time to the second before setting it: two readings months apart give the rate.
-- What good looks like. Within a minute or two of local time. California asks 5 minutes a year of astronomic devices.
-- Source: Title 24 Part 6 110.9(b)1 (timekeeping within 5 minutes a year); the thresholds: common practice, no source.

WITH scope AS (
    SELECT controllers.*, timezone, nearest_s, abs(nearest_s) AS off_s, round(abs(nearest_s) / 1800)::BIGINT AS half_hours,
        half_hours >= 1 AND abs(abs(nearest_s) - half_hours * 1800) <= $near_minutes * 60 AS wrong_zone
    FROM controllers JOIN sites USING (site_id) LEFT JOIN clock_verdicts USING (controller_id)
)
SELECT site_id, 'controller' AS subject_kind, controller_id AS subject_id,
    CASE WHEN off_s > $medium_minutes * 60 THEN 'medium' END AS severity,
    NULL AS minutes, NULL AS kwh, first_date, (first_date + days - 1)::DATE AS last_date,
    format('The clock shows {} local time{}.', error_words(nearest_s),
        CASE WHEN off_s > 14 * 3600 THEN ': date lost' ELSE '' END) AS summary,
    reading_words(read_at_utc, local(timezone, read_at_utc), clock_reading_local) AS seen,
    CASE WHEN off_s > 14 * 3600
        THEN 'Set date and time on the device, and have its backup battery checked: it has lost them before.'
        ELSE format('Note the displayed and the true time, then set the clock {} by {}; if it drifts again within '
                    || 'months, have the device replaced.',
            CASE WHEN nearest_s > 0 THEN 'back' ELSE 'forward' END, minutes_words(off_s / 60))
    END AS remedy,
    NULL AS missing
FROM scope CROSS JOIN period
WHERE clock_reading_local IS NOT NULL AND off_s > $drift_minutes * 60 AND NOT wrong_zone
UNION ALL
SELECT site_id, 'controller', controller_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'clock_reading'
FROM scope WHERE clock_reading_local IS NULL
ORDER BY site_id, subject_id
