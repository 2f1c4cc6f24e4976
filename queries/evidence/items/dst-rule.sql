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
-- From dst_rule, from the changes of the device's clock and of the zone in the year after the reading, whatever part of it
-- is audited, and from the errors that follow: a rule with the dates of another law changes by itself, but not when it must.

WITH reaches AS (
    SELECT controller_id, epoch_us(read_at_utc) // 1000000 AS read_s, device_clocks.clock_no, law_no
    FROM e_controllers JOIN device_clocks USING (controller_id)
    JOIN (SELECT clock AS timezone, clock_no AS law_no FROM clocks) AS laws USING (timezone)
    WHERE item = 'dst-rule'
), known AS (
    SELECT clock_no, min(start_s) AS first_s, max(end_s) AS last_s FROM clock_offsets GROUP BY clock_no
), changes AS (        -- of the zone, and of the device, in the year ahead, as far as both are known
    SELECT controller_id, own.of_no = law_no AS of_law, own.of_no = reaches.clock_no AS of_device, start_s AS at_s
    FROM reaches JOIN known ON known.clock_no = reaches.clock_no JOIN known AS law_known ON law_known.clock_no = law_no
    JOIN (SELECT clock_no AS of_no, start_s, lag(offset_s) OVER (PARTITION BY clock_no ORDER BY start_s) AS before_s
        FROM clock_offsets) AS own ON own.of_no IN (reaches.clock_no, law_no)
    WHERE before_s IS NOT NULL AND start_s > greatest(read_s, known.first_s, law_known.first_s)
        AND start_s < least(read_s + 365 * 86400, known.last_s, law_known.last_s)
), law AS (            -- within a day is when the law does: a wrong standard offset moves the hour
    SELECT controller_id, bool_or(of_law) AS changes, min(at_s) FILTER (NOT (of_law AND of_device) AND NOT EXISTS (
        FROM changes AS other WHERE other.controller_id = changes.controller_id AND other.of_law <> changes.of_law
            AND abs(other.at_s - changes.at_s) < 86400)) AS differs_s
    FROM changes GROUP BY controller_id
), wrong AS (
    SELECT controller_id, min(start_utc) AS wrong_utc, min(first_date) AS first_date, max(last_date) AS last_date
    FROM clock_errors JOIN clock_verdicts USING (controller_id)
    WHERE errors > 1 AND error_s <> nearest_s AND whole_dates > 0
    GROUP BY controller_id
), decided AS (
    SELECT e_controllers.*, wrong.* EXCLUDE (controller_id), differs_s, CASE
            WHEN NOT astronomic OR NOT coalesce(changes, false) THEN 'not applicable'
            WHEN dst_rule IS NULL AND wrong_utc IS NULL THEN 'insufficient data'
            WHEN dst_rule = 'none' OR wrong_utc IS NOT NULL OR differs_s IS NOT NULL THEN 'contrary'
            ELSE 'consistent'
        END AS outcome
    FROM e_controllers LEFT JOIN law USING (controller_id) LEFT JOIN wrong USING (controller_id)
    WHERE item = 'dst-rule'
)
SELECT site_id, 'controller' AS subject_kind, controller_id AS subject_id, outcome,
    CASE
        WHEN NOT astronomic THEN 'It has no steps by the sun: it does not work as an astronomical time switch.'
        WHEN outcome = 'not applicable' THEN format('{} does not change its offset in the year after the reading.', timezone)
        WHEN dst_rule IS NULL AND wrong_utc IS NULL
            THEN 'dst_rule is not exported, and one reading does not tell what it does at the next change.'
        WHEN dst_rule = 'none' THEN 'Its rule is set to none: it does not change by itself.'
        WHEN wrong_utc IS NOT NULL THEN format('Its rule ({}) does not change when {} does: its clock is off by a '
            || 'change {}.', coalesce(dst_rule, 'not exported; what it shows tells'), timezone,
                dates_words(first_date, last_date))
        WHEN differs_s IS NOT NULL THEN format('Its rule ({}) does not change when {} does: on {} one of the two changes and '
            || 'the other does not.', dst_rule, timezone, strftime(local(timezone, utc(differs_s)), '%-d %B %Y'))
        ELSE format('Its rule ({}) changes when {} does.', dst_rule, timezone)
    END AS said,
    CASE WHEN outcome = 'contrary' THEN first_date END AS first_date, CASE WHEN outcome = 'contrary'
        THEN last_date END AS last_date,
    CASE WHEN outcome = 'contrary' THEN wrong_utc END AS example_utc, NULL::DOUBLE AS minutes, NULL::DOUBLE AS kwh,
    []::VARCHAR[] AS limits, NULL::VARCHAR[] AS circuits, source_file, source_row
FROM decided
ORDER BY site_id, subject_id
