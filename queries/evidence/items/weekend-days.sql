--: name = "weekend-days"
--: place = 2
--: title = "Closed days of the week have a program of their own"
--: of_code = true
--: rests_on = "program"
--: test = "On a day of the week on which the site is closed, see at a time at which it is on when the site is open that the circuit stays off."
--: nobody = "No interior circuit in use is in the export: nothing is shown about interior lighting, which may hang on other switches."
--: absent = "insufficient data"
--: reads = ["circuits", "events", "hours"]
--
-- Consistent: on no closed day of the week runs the program of a day that is open. Contrary: one does, and it switches
-- the circuit on. Ordinary steps only; what calendars do stands under holiday-shutoff.

WITH weekdays AS (
    SELECT unnest(range(0, 7)) AS weekday
), opened AS (
    SELECT site_id, bit_or(days_mask) AS open_mask FROM hours GROUP BY site_id
), programs AS (      -- what is programmed for each day of the week, in program order
    SELECT circuit_id, weekday, string_agg(words, ', ' ORDER BY row_no) AS program, max(level) > 0 AS lights,
        arg_min({'event_id': event_id, 'file': source_file, 'row': source_row}, source_row) FILTER (level > 0) AS first_on
    FROM e_steps JOIN weekdays ON (days_mask >> weekday) & 1 = 1
    WHERE calendar IS NULL
    GROUP BY circuit_id, weekday
), scope AS (
    SELECT e_scope.*, open_mask FROM e_scope LEFT JOIN opened USING (site_id) WHERE item = 'weekend-days'
), same AS (          -- a closed day with the program of an open one
    SELECT circuit_id, closed.weekday, min(other.weekday) AS open_weekday, any_value(closed.first_on) AS first_on
    FROM scope JOIN programs AS closed USING (circuit_id) JOIN programs AS other USING (circuit_id)
    WHERE (open_mask >> closed.weekday) & 1 = 0 AND (open_mask >> other.weekday) & 1 = 1
      AND closed.program = other.program AND closed.lights
    GROUP BY circuit_id, closed.weekday
), shown AS (
    SELECT circuit_id, arg_min(first_on, weekday) AS step, list(weekday ORDER BY weekday) AS weekdays,
        sum(1 << weekday) AS mask, arg_min(open_weekday, weekday) AS open_weekday
    FROM same GROUP BY circuit_id
), lit AS (           -- the first light on such a day, outside the hours
    SELECT circuit_id, min(from_s) AS from_s, max(from_s) AS last_s
    FROM e_overlaps JOIN shown USING (circuit_id) JOIN scope USING (circuit_id)
    WHERE kind = 'unoccupied' AND e_overlaps.level > 0
      AND list_contains(weekdays, weekday(epoch_day((local(timezone, utc(from_s)))::DATE)))
    GROUP BY circuit_id
), decided AS (
    SELECT scope.*, step, mask, open_weekday, from_s, last_s, CASE
            WHEN claimed_at_night THEN claim_outcome
            WHEN NOT hours_known THEN 'insufficient data'
            WHEN open_mask = 127 THEN 'not applicable'
            WHEN steps = 0 AND occupancy_sensors > 0 THEN 'not applicable'
            WHEN steps = 0 THEN 'insufficient data'
            WHEN mask IS NOT NULL THEN 'contrary'
            ELSE 'consistent'
        END AS outcome
    FROM scope LEFT JOIN shown USING (circuit_id) LEFT JOIN lit USING (circuit_id)
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, outcome,
    CASE
        WHEN claimed_at_night THEN claim_words || ' It is not held against the hours.'
        WHEN NOT hours_known THEN 'The hours of this site are not exported: which days are closed is not known.'
        WHEN open_mask = 127 THEN 'The site opens on every day of the week.'
        WHEN steps = 0 AND occupancy_sensors > 0
            THEN format('No program: occupancy sensor {} alone acts on it.', occupancy_ids)
        WHEN steps = 0 THEN 'No step acts on it: there is no program to tell days apart.'
        WHEN mask IS NOT NULL THEN format('Closed on {}, and runs the program of {} then: step {} switches it on on '
            || 'both.',
            days_words(mask::BIGINT), days_words(1 << open_weekday), step.event_id)
        ELSE format('Closed on {}; no such day has the program of a day that is open.', days_words(127 - open_mask))
    END AS said,
    CASE WHEN outcome = 'contrary' THEN (local(timezone, utc(from_s)))::DATE END AS first_date,
    CASE WHEN outcome = 'contrary' THEN (local(timezone, utc(last_s)))::DATE END AS last_date,
    CASE WHEN outcome = 'contrary' THEN utc(from_s) END AS example_utc,
    NULL::DOUBLE AS minutes, NULL::DOUBLE AS kwh, []::VARCHAR[] AS limits, [circuit_id] AS circuits,
    coalesce(step.file, source_file) AS source_file, coalesce(step.row, source_row) AS source_row
FROM decided
ORDER BY site_id, subject_id
