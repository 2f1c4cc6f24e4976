--: name = "sun-location-off"
--: title = "Device computes the sun for another place"
--: severity = "medium"
--: subject = "controller"
--: needs = ["latitude;longitude"]
--: fix = "device"
--: params.shift_minutes = { default = 5, unit = "min", meaning = "a sunrise or sunset moved by more counts" }
--: params.date_share = { default = 0.1, unit = "share of the dates", meaning = "on more than this is a finding" }
--: params.high_minutes = { default = 15, unit = "min", meaning = "above it the median shift makes the severity high" }
--
-- What goes wrong. The location was left at the factory's or copied from another site; the longitude lost its minus
-- sign; degrees and minutes were typed as decimals.
-- Why it matters. Every sun step moves with it: minutes for a neighbouring city, half a day for a lost sign.
-- On site. Compare the sunrise and sunset that the device displays for today with a published table.
-- What good looks like. Within a minute or two of the table. California asks 15 minutes of astronomic devices.
-- Source: Title 24 Part 6 110.9(b)1 (sunrise and sunset within 15 minutes); the other thresholds: common practice, no
-- source. Sun times: the audit's own, checked against published tables.

WITH scope AS (
    SELECT controllers.*, timezone, sites.latitude AS site_latitude, sites.longitude AS site_longitude
    FROM controllers JOIN sites USING (site_id)
    WHERE controller_id IN (SELECT controller_id FROM events WHERE anchor <> 'clock')
), shifts AS (
    SELECT controller_id, kind, unnest(shifts_s) AS shift_s FROM sun_shifts
), judged AS (
    SELECT controller_id, kind,
        count(*) FILTER (abs(shift_s) > $shift_minutes * 60) AS moved_dates, count(*) AS dates,
        median(abs(shift_s)) AS typical_s,
        CASE WHEN count(*) FILTER (shift_s < 0) >= 0.9 * count(*) THEN 'early'
             WHEN count(*) FILTER (shift_s > 0) >= 0.9 * count(*) THEN 'late' END AS way
    FROM shifts GROUP BY controller_id, kind
), worst AS (
    SELECT controller_id, max(typical_s) AS typical_s,
        arg_max(kind, (typical_s, kind)) AS worst_kind, arg_max({'way': way}, (typical_s, kind)).way AS way,
        arg_max(moved_dates, (typical_s, kind)) AS moved_dates
    FROM judged
    GROUP BY controller_id
    HAVING bool_or(moved_dates > $date_share * dates)
), most_moved AS (
    SELECT controller_id, kind AS worst_kind, arg_max({'shift_s': shift_s, 'date': date}, (abs(shift_s), -epoch(date))) AS most
    FROM (SELECT controller_id, kind, unnest(shifts_s) AS shift_s, unnest(dates) AS date FROM sun_shifts)
    GROUP BY controller_id, kind
), sun AS (
    SELECT site_id, 'sunrise' AS worst_kind, local(timezone, start_utc) AS sun_local FROM site_spans JOIN sites USING (site_id)
    WHERE kind = 'light' AND site_id IN (SELECT site_id FROM scope)
    UNION ALL
    SELECT site_id, 'sunset', local(timezone, end_utc) FROM site_spans JOIN sites USING (site_id)
    WHERE kind = 'light' AND site_id IN (SELECT site_id FROM scope)
), shown AS (      -- the date on which it is moved most
    SELECT controller_id, worst_kind, most.shift_s, sun_local
    FROM worst
    JOIN most_moved USING (controller_id, worst_kind)
    JOIN scope USING (controller_id)
    JOIN sun USING (site_id, worst_kind)
    WHERE sun_local::DATE = most.date
    QUALIFY row_number() OVER (PARTITION BY controller_id ORDER BY sun_local) = 1
)
SELECT site_id, 'controller' AS subject_kind, controller_id AS subject_id,
    CASE WHEN typical_s > $high_minutes * 60 THEN 'high' END AS severity,
    NULL AS minutes, NULL AS kwh, first_date, (first_date + days - 1)::DATE AS last_date,
    format('Its set location moves {} by {} (median).', worst_kind, minutes_words(typical_s / 60)) AS summary,
    format('Set to {:.4f}, {:.4f}; the site lies at {:.4f}, {:.4f}. By the device {} comes {} or more {} on half of '
           || 'the dates.',
        latitude, longitude, site_latitude, site_longitude, worst_kind, minutes_words(typical_s / 60),
        coalesce(way, 'early or late, by season,'))
        || coalesce(format(' On {} {} is at {} here, and at {} by the device.', day_words(sun_local), worst_kind,
            clock_words(sun_local), clock_words(sun_local + to_seconds(shift_s))
                || CASE WHEN (sun_local + to_seconds(shift_s))::DATE < sun_local::DATE THEN ' of the day before'
                        WHEN (sun_local + to_seconds(shift_s))::DATE > sun_local::DATE THEN ' of the next day' ELSE '' END), '')
            AS seen,
    format('Set the location of the site on the device: latitude {:.2f}, longitude {:.2f} (degrees north and east; '
           || 'west is negative). Then compare its displayed sunrise with a published one.',
        site_latitude, site_longitude) AS remedy,
    NULL AS missing
FROM worst JOIN scope USING (controller_id) LEFT JOIN shown USING (controller_id, worst_kind) CROSS JOIN period
UNION ALL
SELECT site_id, 'controller', controller_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'latitude;longitude'
FROM scope WHERE latitude IS NULL
ORDER BY site_id, subject_id
