--: name = "sun-times"
--: place = 11
--: title = "Sunrise and sunset of an astronomical time switch are right"
--: of_code = true
--: rests_on = "device"
--: test = "Read the sunrise and sunset that the device displays, and hold them against those of an almanac for the place and date."
--: nobody = "No time switch is in the export."
--: absent = "not applicable"
--: reads = ["controllers", "sites"]
--
-- The sun at the location set in the device against the sun at the site, on every date that has both. What the device
-- itself computes is in no export.

WITH worst AS (
    SELECT controller_id, max(abs(shift_s)) AS worst_s, arg_max({'kind': kind, 'date': date, 'shift_s': shift_s},
        (abs(shift_s), -epoch(date))) AS shown
    FROM (SELECT controller_id, kind, unnest(shifts_s) AS shift_s, unnest(dates) AS date FROM sun_shifts)
    GROUP BY controller_id
), decided AS (
    SELECT e_controllers.*, worst_s, shown, limit_of(edition, item, 'shift_minutes') AS limit_minutes, CASE
            WHEN NOT astronomic THEN 'not applicable'
            WHEN set_latitude IS NULL OR worst_s IS NULL THEN 'insufficient data'
            WHEN worst_s > limit_of(edition, item, 'shift_minutes') * 60 THEN 'contrary'
            ELSE 'consistent'
        END AS outcome
    FROM e_controllers LEFT JOIN worst USING (controller_id) WHERE item = 'sun-times'
)
SELECT site_id, 'controller' AS subject_kind, controller_id AS subject_id, outcome,
    CASE
        WHEN NOT astronomic THEN 'It has no steps by the sun: it does not work as an astronomical time switch.'
        WHEN set_latitude IS NULL THEN 'The location that is set in the device is not exported.'
        WHEN worst_s IS NULL THEN 'There is no date on which the sun rises or sets both at the site and at the '
            || 'location set in the device.'
        WHEN worst_s = 0 THEN format('By the location set in the device sunrise and sunset are those of the site on '
            || 'every '
            || 'date, to the second; at most {:g} min are asked for.', limit_minutes)
        ELSE format('By the location set in the device {} is up to {} off ({}); at most {:g} min are asked for.', shown.kind,
            CASE WHEN worst_s < 90 THEN format('{:d} s',
                worst_s) ELSE minutes_words(worst_s / 60) END, strftime(shown.date,
                '%-d %B %Y'), limit_minutes)
    END AS said,
    CASE WHEN outcome = 'contrary' THEN shown.date END AS first_date,
        NULL::DATE AS last_date, NULL::TIMESTAMP AS example_utc,
    NULL::DOUBLE AS minutes, NULL::DOUBLE AS kwh,
    CASE WHEN astronomic THEN ['shift_minutes'] ELSE [] END AS limits,
        NULL::VARCHAR[] AS circuits, source_file, source_row
FROM decided
ORDER BY site_id, subject_id
