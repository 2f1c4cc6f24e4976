--: name = "clock-wrong-zone"
--: title = "Clock set to a wrong zone, half of the day or date"
--: severity = "high"
--: subject = "controller"
--: needs = ["clock_reading"]
--: fix = "device"
--: params.near_minutes = { default = 3, unit = "min", meaning = "how near to a whole number of half hours" }
--: params.date_lost_minutes = { default = 840, unit = "min", meaning = "an error above it is called date lost" }
--
-- What goes wrong. The device came from another zone, or its hour was set by hand to the wrong one; AM and PM were
-- swapped; after a power loss with an empty backup it started again at its factory date.
-- Why it matters. Swapped halves of the day light the lot at noon and leave it dark at night. A zone's hour moves
-- every clock step, all year.
-- On site. Hold date, time, AM or PM, and zone of the device against the true ones; then ask why it happened: the
-- battery, a power cut, a copied set-up.
-- What good looks like. The device within a minute of local time, its zone named, its backup good.
-- Source: common practice, no source; the half hours follow the offsets that the tzdata package knows.

WITH scope AS (
    SELECT controllers.*, timezone, nearest_s,
        clock_reading_local IS NOT NULL
        OR utc_offset_s IS NOT NULL AND coalesce(dst_rule, 'zone') <> 'zone' AS known
    FROM controllers JOIN sites USING (site_id) LEFT JOIN clock_verdicts USING (controller_id)
), judged AS (
    SELECT *, abs(nearest_s) AS off_s, round(abs(nearest_s) / 1800)::BIGINT AS half_hours
    FROM scope
    WHERE known AND half_hours >= 1 AND abs(abs(nearest_s) - half_hours * 1800) <= $near_minutes * 60
), named AS (
    SELECT *, CASE
        WHEN half_hours = 24 THEN 'AM and PM swapped'
        WHEN off_s > $date_lost_minutes * 60 THEN 'date lost'
        ELSE 'wrong zone or hour'
    END AS verdict
    FROM judged
)
SELECT site_id, 'controller' AS subject_kind, controller_id AS subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, first_date, (first_date + days - 1)::DATE AS last_date,
    format('The clock shows {} local time: {}.', error_words(nearest_s), verdict) AS summary,
    CASE WHEN clock_reading_local IS NULL
        THEN 'No reading: the offset set in the device says so.'
        ELSE reading_words(read_at_utc, local(timezone, read_at_utc), clock_reading_local)
    END AS seen,
    CASE verdict
        WHEN 'AM and PM swapped' THEN 'Set the other half of the day on the device, then check the date: it may '
                                      || 'change at noon.'
        WHEN 'date lost' THEN 'Set date and time on the device, and have its backup battery checked: it has lost '
                              || 'them before.'
        ELSE format('Set the zone of the device to {}, and see that its clock then goes {} by {} to the true local '
                    || 'time.', timezone,
            CASE WHEN nearest_s > 0 THEN 'back' ELSE 'forward' END, minutes_words(off_s / 60))
    END AS remedy,
    NULL AS missing
FROM named CROSS JOIN period
UNION ALL
SELECT site_id, 'controller', controller_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'clock_reading'
FROM scope WHERE NOT known
ORDER BY site_id, subject_id
