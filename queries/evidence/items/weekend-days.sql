--: name = "weekend-days"
--: place = 2
--: title = "Closed days of the week have a program of their own"
--: of_code = true
--: rests_on = "program"
--: test = "On a day of the week on which the site is closed, see at a time at which it is on when the site is open that the circuit stays off."
--: nobody = "No interior circuit in use is in the export: nothing is shown about interior lighting, which may hang on other switches."
--: absent = "insufficient data"
--: reads = ["circuits", "events", "sensors", "hours", "closures"]
--
-- Programs are compared by what they do. Contrary: a closed day of the week runs the program of a day that is open, and
-- light is on by it outside the hours. Consistent: no closed day does, and all of them are dark outside the hours. A closed
-- day that differs and is lit all the same is left open. Ordinary steps only; what calendars do, and dates that closures
-- list, stand under holiday-shutoff.

WITH opened AS (
    SELECT site_id, bit_or(days_mask) AS open_mask FROM hours GROUP BY site_id
), scope AS (
    SELECT e_scope.*, open_mask FROM e_scope LEFT JOIN opened USING (site_id) WHERE item = 'weekend-days'
), listed AS (
    SELECT DISTINCT site_id, date FROM e_closures
), same AS (          -- a closed day with the program of an open one, in a phase of the year
    SELECT circuit_id, closed.phase, closed.weekday, min(other.weekday) AS open_weekday,
        any_value(closed.first_on) AS first_on
    FROM scope
    JOIN e_day_programs AS closed ON closed.controller_id = scope.controller_id AND closed.target = circuit_id
    JOIN e_day_programs AS other ON other.controller_id = scope.controller_id AND other.target = circuit_id
        AND other.phase = closed.phase
    WHERE (open_mask >> closed.weekday) & 1 = 0 AND (open_mask >> other.weekday) & 1 = 1
      AND closed.program = other.program AND closed.lights
    GROUP BY circuit_id, closed.phase, closed.weekday
), pieces AS (        -- light outside the hours, by the dates that it touches
    SELECT circuit_id, scope.site_id, controller_id, open_mask, from_s, until_s, unnest(generate_series(
        epoch_day((local(timezone, utc(from_s)))::DATE), epoch_day(last_day(timezone, utc(until_s))))) AS day
    FROM e_overlaps JOIN scope USING (circuit_id)
    WHERE kind = 'unoccupied' AND e_overlaps.level > 0
), lit_dates AS (     -- closed dates with more of it than clocks are allowed to be wrong
    SELECT circuit_id, weekday(day) AS weekday, coalesce(phase, []) AS phase,
        min(greatest(from_s, epoch_us(start_utc) // 1000000)) AS from_s,
        sum(least(until_s, epoch_us(end_utc) // 1000000) - greatest(from_s, epoch_us(start_utc) // 1000000)) AS lit_s
    FROM pieces JOIN site_days ON site_days.site_id = pieces.site_id AND site_days.date = day_date(day)
    LEFT JOIN e_phases ON e_phases.controller_id = pieces.controller_id AND e_phases.date = site_days.date
    WHERE (open_mask >> weekday(day)) & 1 = 0 AND (pieces.site_id, site_days.date) NOT IN (FROM listed)
    GROUP BY circuit_id, day, phase HAVING lit_s > slack_s()
), lit AS (
    SELECT circuit_id, min(from_s) AS lit_from_s, count(*) AS lit_count FROM lit_dates GROUP BY circuit_id
), alike AS (
    SELECT circuit_id, arg_min(first_on, weekday) AS step, bit_or(1 << weekday) AS mask,
        arg_min(open_weekday, weekday) AS open_weekday
    FROM same GROUP BY circuit_id
), shown AS (         -- those on which the common program brings light
    SELECT circuit_id, arg_min(first_on, weekday) AS step, bit_or(1 << weekday) AS mask,
        arg_min(open_weekday, weekday) AS open_weekday, min(from_s) AS from_s, max(from_s) AS last_s
    FROM same JOIN lit_dates USING (circuit_id, phase, weekday) GROUP BY circuit_id
), decided AS (
    SELECT scope.*, lit_from_s, lit_count, from_s, last_s, coalesce(shown.mask, alike.mask) AS mask,
        CASE WHEN shown.mask IS NULL THEN alike.step ELSE shown.step END AS step,
        CASE WHEN shown.mask IS NULL THEN alike.open_weekday ELSE shown.open_weekday END AS open_weekday,
        CASE
            WHEN claimed_at_night THEN 'claimed'
            WHEN NOT hours_known THEN 'hours unknown'
            WHEN open_mask = 127 THEN 'always open'
            WHEN steps = 0 AND occupancy_sensors > 0 THEN 'sensor alone'
            WHEN steps = 0 THEN 'no program'
            WHEN alike.mask IS NOT NULL AND held IS NOT NULL THEN 'held'
            WHEN shown.mask IS NOT NULL THEN 'same'
            WHEN alike.mask IS NOT NULL THEN 'same, not lit'
            WHEN lit_count > 0 THEN 'lit'
            ELSE 'other'
        END AS case_of
    FROM scope LEFT JOIN alike USING (circuit_id) LEFT JOIN shown USING (circuit_id) LEFT JOIN lit USING (circuit_id)
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id,
    CASE case_of WHEN 'claimed' THEN claim_outcome WHEN 'same' THEN 'contrary' WHEN 'other' THEN 'consistent'
        WHEN 'always open' THEN 'not applicable' WHEN 'sensor alone' THEN 'not applicable'
        ELSE 'insufficient data' END AS outcome,
    CASE case_of
        WHEN 'claimed' THEN claim_words || ' It is not held against the hours.'
        WHEN 'hours unknown' THEN 'The hours of this site are not exported: which days are closed is not known.'
        WHEN 'always open' THEN 'The site opens on every day of the week.'
        WHEN 'sensor alone' THEN format('No program: occupancy sensor {} alone acts on it.', occupancy_ids)
        WHEN 'no program' THEN 'No step acts on it: there is no program to tell days apart.'
        WHEN 'other' THEN format('Closed on {}; no such day has the program of a day that is open, and none has light '
            || 'outside the hours ({:d} min left at both ends).', days_words(127 - open_mask),
            (SELECT hours_margin_s // 60 FROM period))
        WHEN 'lit' THEN format('Closed on {}; no such day has the program of a day that is open, but on {} light is on '
            || 'outside the hours, first on {}: see item 1.', days_words(127 - open_mask),
            number_words(lit_count, 'closed date'), when_local(local(timezone, utc(lit_from_s))))
        ELSE format('Closed on {}, and runs the program of {} then: step {} switches it on on both{}.',
            days_words(mask::BIGINT), days_words(1 << open_weekday), step.event_id,
            CASE case_of WHEN 'same' THEN ''
                WHEN 'held' THEN format('; but it is left by hand in {}, and what the program would do is not seen', held)
                ELSE concat_ws('; ', ', but no light is held on by it outside the hours',
                    'occupancy sensor ' || occupancy_ids || ' acts on it',
                    'photocontrol ' || photocontrol_ids || ' acts on it') END)
    END AS said,
    CASE WHEN case_of = 'same' THEN (local(timezone, utc(from_s)))::DATE END AS first_date,
    CASE WHEN case_of = 'same' THEN (local(timezone, utc(last_s)))::DATE END AS last_date,
    CASE case_of WHEN 'same' THEN utc(from_s) WHEN 'lit' THEN utc(lit_from_s) END AS example_utc,
    NULL::DOUBLE AS minutes, NULL::DOUBLE AS kwh, []::VARCHAR[] AS limits, [circuit_id] AS circuits,
    coalesce(step.file, source_file) AS source_file, coalesce(step.row, source_row) AS source_row
FROM decided
ORDER BY site_id, subject_id
