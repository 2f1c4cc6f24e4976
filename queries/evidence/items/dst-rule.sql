--: name = "dst-rule"
--: place = 10
--: title = "An astronomical time switch changes to daylight saving time and back by itself"
--: of_code = true
--: rests_on = "device"
--: test = "With other light wherever light must stay, set the date of the device to the day before a change, let it pass 02:00, and read the clock; then set date and time right again."
--: nobody = "No time switch is in the export."
--: absent = "not applicable"
--: reads = ["controllers"]
--
-- From dst_rule, and from the errors that follow from it: a rule with the dates of another law changes by itself, but not
-- when it must.

WITH law AS (          -- offsets of each zone in the audited period
    SELECT clock AS timezone, count(DISTINCT offset_s) AS offsets
    FROM clocks JOIN clock_offsets USING (clock_no) CROSS JOIN period
    WHERE clock_offsets.end_s + offset_s > epoch(first_date)
        AND clock_offsets.start_s + offset_s < epoch(first_date + days)
    GROUP BY clock
), wrong AS (
    SELECT controller_id, min(start_utc) AS wrong_utc, min(first_date) AS first_date, max(last_date) AS last_date
    FROM clock_errors JOIN clock_verdicts USING (controller_id)
    WHERE errors > 1 AND error_s <> nearest_s AND whole_dates > 0
    GROUP BY controller_id
), decided AS (
    SELECT e_controllers.*, wrong.* EXCLUDE (controller_id), CASE
            WHEN NOT astronomic OR coalesce(offsets, 1) = 1 THEN 'not applicable'
            WHEN dst_rule IS NULL AND wrong_utc IS NULL THEN 'insufficient data'
            WHEN dst_rule = 'none' OR wrong_utc IS NOT NULL THEN 'contrary'
            ELSE 'consistent'
        END AS outcome
    FROM e_controllers LEFT JOIN law USING (timezone) LEFT JOIN wrong USING (controller_id)
    WHERE item = 'dst-rule'
)
SELECT site_id, 'controller' AS subject_kind, controller_id AS subject_id, outcome,
    CASE
        WHEN NOT astronomic THEN 'It has no steps by the sun: it does not work as an astronomical time switch.'
        WHEN outcome = 'not applicable' THEN format('{} does not change its offset in the audited period.', timezone)
        WHEN dst_rule IS NULL AND wrong_utc IS NULL
            THEN 'dst_rule is not exported, and one reading does not tell what it does at the next change.'
        WHEN dst_rule = 'none' THEN 'Its rule is set to none: it does not change by itself.'
        WHEN wrong_utc IS NOT NULL THEN format('Its rule ({}) does not change when {} does: its clock is off by a '
            || 'change {}.', coalesce(dst_rule, 'not exported; what it shows tells'), timezone,
                dates_words(first_date, last_date))
        ELSE format('Its rule ({}) changes when {} does.', dst_rule, timezone)
    END AS said,
    CASE WHEN outcome = 'contrary' THEN first_date END AS first_date, CASE WHEN outcome = 'contrary'
        THEN last_date END AS last_date,
    CASE WHEN outcome = 'contrary' THEN wrong_utc END AS example_utc, NULL::DOUBLE AS minutes, NULL::DOUBLE AS kwh,
    []::VARCHAR[] AS limits, NULL::VARCHAR[] AS circuits, source_file, source_row
FROM decided
ORDER BY site_id, subject_id
