--: name = "clock-accuracy"
--: place = 9
--: title = "The clock of an astronomical time switch keeps time"
--: of_code = true
--: rests_on = "device"
--: test = "Note the displayed and the true time to the second, and again after months without setting it; look for the date on which it was last set."
--: nobody = "No time switch is in the export."
--: absent = "not applicable"
--: reads = ["controllers"]
--
-- How fast a clock runs is known from two readings since it was last set, which a store remembers from run to run. One
-- reading says how far it is off, and not since when: the date on which it was set is in no export.

WITH decided AS (
    SELECT e_controllers.*, limit_of(edition, item, 'minutes_a_year') AS limit_minutes, earlier_utc, newest_utc,
        minutes_a_month * 12 AS minutes_a_year, nearest_s, CASE
            WHEN NOT astronomic THEN 'not applicable'
            WHEN abs(minutes_a_month * 12) > limit_of(edition, item, 'minutes_a_year') THEN 'contrary'
            WHEN minutes_a_month IS NOT NULL THEN 'consistent'
            ELSE 'insufficient data'
        END AS outcome
    FROM e_controllers
    LEFT JOIN (SELECT controller_id, earlier_utc, newest_utc, minutes_a_month FROM drifts) AS drifts USING (controller_id)
    LEFT JOIN clock_verdicts USING (controller_id)
    WHERE item = 'clock-accuracy'
)
SELECT site_id, 'controller' AS subject_kind, controller_id AS subject_id, outcome,
    CASE
        WHEN NOT astronomic THEN 'It has no steps by the sun: it does not work as an astronomical time switch.'
        WHEN minutes_a_year IS NOT NULL THEN format('Between the readings of {} and {} it moved at {:.1f} min a year; '
            || 'at most {:g} are asked for.',
            strftime(earlier_utc, '%-d %B %Y'), strftime(newest_utc, '%-d %B %Y'), abs(minutes_a_year), limit_minutes)
        WHEN clock_reading_local IS NULL THEN 'clock_reading is not exported: how far the clock is off is not known, '
            || 'nor since when.'
        ELSE format('When it was read on {} the clock showed {}{}; when it was last set is not exported, so that '
            || 'minutes a year are not known.',
            strftime(read_at_utc, '%-d %B %Y'), CASE WHEN coalesce(nearest_s, 0) = 0 THEN 'local time'
                ELSE error_words(nearest_s) || ' local time' END,
            CASE WHEN abs(abs(nearest_s) - 3600) <= 300 THEN ' (suspect daylight saving time)'
                 WHEN abs(abs(nearest_s) - 43200) <= 300 THEN ' (suspect AM and PM)' ELSE '' END)
    END AS said,
    earlier_utc::DATE AS first_date, newest_utc::DATE AS last_date,
        NULL::TIMESTAMP AS example_utc, NULL::DOUBLE AS minutes,
        NULL::DOUBLE AS kwh,
    CASE WHEN astronomic THEN ['minutes_a_year'] ELSE [] END AS limits,
        NULL::VARCHAR[] AS circuits, source_file, source_row
FROM decided
ORDER BY site_id, subject_id
