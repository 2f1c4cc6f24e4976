--: name = "interior-shutoff"
--: place = 1
--: title = "Interior lighting off when nobody is scheduled to be there"
--: of_code = true
--: rests_on = "program"
--: test = "Wait for the off after closing and see that every luminaire of the circuit goes dark; press the override and see that it ends; where an occupancy sensor is relied on, leave the room and time it."
--: nobody = "No interior circuit in use is in the export: nothing is shown about interior lighting, which may hang on other switches."
--: absent = "insufficient data"
--: reads = ["circuits", "events", "sensors", "hours", "closures"]
--
-- Unoccupied: from closing plus the margin of the portfolio (hours_margin_minutes) to the next opening less that
-- margin. Consistent: off all through every such stretch, or left to an occupancy sensor that turns off in the time
-- asked for, where the edition is known to give one. Contrary: programmed on in one of them, with neither a sensor nor a claimed exemption. The ordinary week
-- alone: dates that closures list, under a calendar or not, stand under holiday-shutoff.

WITH stretches AS (
    SELECT site_id, count(*) AS stretches FROM e_spans WHERE kind = 'unoccupied' GROUP BY site_id
), gaps AS (         -- whatever the margin leaves of them
    SELECT site_id, true AS closes FROM e_open JOIN e_sites USING (site_id)
    GROUP BY site_id HAVING bool_or(closes_s < coalesce(next_opens_s, end_s)) OR min(opens_s) > min(start_s)
), closed AS (
    SELECT DISTINCT site_id, date FROM e_closures
), lit AS (          -- each stretch with more light than clocks are allowed to be wrong
    SELECT circuit_id, span_no, min(span_start_s) AS span_start_s, min(span_end_s) AS span_end_s,
        min(from_s) AS from_s, arg_min(until_s, from_s) AS until_s, max(until_s) AS last_s,
        sum(until_s - from_s) AS lit_s, bool_or(level < 100) AS dimmed
    FROM e_overlaps JOIN (SELECT site_id, timezone FROM e_sites) AS zones USING (site_id)
    WHERE kind = 'unoccupied' AND level > 0 AND (site_id, (local(timezone, utc(from_s)))::DATE) NOT IN (FROM closed)
    GROUP BY circuit_id, span_no HAVING lit_s > slack_s()
), totals AS (
    SELECT circuit_id, count(*) AS lit_stretches, sum(lit_s) AS lit_s, bool_or(dimmed) AS dimmed,
        arg_min({'starts': span_start_s, 'ends': span_end_s, 'lit_from': from_s,
            'lit_until': until_s}, span_no) AS earliest,
        max(last_s) AS last_s
    FROM lit GROUP BY circuit_id
), watched AS (
    SELECT circuit_id, sum(until_s - from_s) AS sensed_s
    FROM e_overlaps WHERE kind = 'unoccupied' AND conditional GROUP BY circuit_id
), judged AS (
    SELECT scope.*, coalesce(stretches, 0) AS stretches, lit_stretches, lit_s, dimmed,
        last_s, earliest.lit_from AS lit_from_s,
        CASE WHEN site_id IN (SELECT site_id FROM closed)
            THEN ' Dates that closures list stand under item 3.' ELSE '' END AS closed_words,
        coalesce(closes, false) AS closes, coalesce(sensed_s, 0) > 0 AS sensed, limit_of(edition, item, 'vacancy_minutes') AS vacancy_minutes,
        local(timezone, utc(earliest.starts)) AS starts, local(timezone, utc(earliest.ends)) AS ends,
        local(timezone, utc(earliest.lit_from)) AS lit_from, local(timezone, utc(earliest.lit_until)) AS lit_until
    FROM e_scope AS scope
    LEFT JOIN stretches USING (site_id) LEFT JOIN totals USING (circuit_id) LEFT JOIN watched USING (circuit_id)
    LEFT JOIN gaps USING (site_id)
    WHERE item = 'interior-shutoff'
), decided AS (
    SELECT *, CASE
            WHEN claimed_at_night THEN claim_outcome
            WHEN NOT hours_known THEN 'insufficient data'
            WHEN stretches = 0 AND closes THEN 'insufficient data'
            WHEN stretches = 0 THEN 'not applicable'
            WHEN lit_s > 0 AND held IS NOT NULL THEN 'contrary'   -- in hand no sensor counts
            WHEN lit_s > 0 AND sensors_known AND occupancy_sensors = 0 THEN 'contrary'
            WHEN lit_s > 0 THEN 'insufficient data'
            WHEN sensed AND longest_timeout_minutes > vacancy_minutes THEN 'contrary'
            WHEN sensed AND (vacancy_minutes IS NULL OR unknown_timeouts > 0) THEN 'insufficient data'
            ELSE 'consistent'
        END AS outcome
    FROM judged
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, outcome,
    CASE
        WHEN claimed_at_night THEN claim_words || ' It is not held against the hours.'
        WHEN NOT hours_known THEN 'The hours of this site are not exported: when nobody is scheduled to be there is '
            || 'not known.'
        WHEN stretches = 0 AND closes THEN format('The site closes, but no unoccupied time is left to be judged after the '
            || 'margin of {:d} min at both ends (hours_margin_minutes).', (SELECT hours_margin_s // 60 FROM period))
        WHEN stretches = 0 THEN 'By its hours the site does not close in the audited period.'
        WHEN lit_s > 0 THEN format('Programmed on for {} in unoccupied time, on {:d} of {:d} stretches between closing '
            || 'and the next '
                || 'opening ({:d} min left at both ends; the night before the first opening of the period is left '
                || 'out). The '
                || 'first: from {} to {}, on from {} to {}.{}',
                minutes_words(lit_s / 60), lit_stretches, stretches, (SELECT hours_margin_s // 60 FROM period),
                when_local(starts), end_words(starts, ends), since_words(starts, lit_from), end_words(lit_from,
                    lit_until),
                CASE WHEN held IS NOT NULL THEN ''
                     WHEN occupancy_sensors > 0
                     THEN format(' Occupancy sensor {} acts on it beside the program: whether it turns the light off '
                         || 'must be tested.', occupancy_ids)
                     WHEN NOT sensors_known THEN ' ' || no_sensors_words() || '.'
                     ELSE format(' No occupancy sensor acts on it{}. If people are scheduled to be there then, '
                         || 'correct '
                         || 'the hours.', absence_words) END)
        WHEN sensed THEN format('Left to occupancy sensor {} in unoccupied time; {}{}.', occupancy_ids,
                CASE WHEN unknown_timeouts > 0 THEN 'a time-out is not exported'
                     ELSE format('its longest time-out is {:g} min', longest_timeout_minutes) END,
                CASE WHEN vacancy_minutes IS NULL
                    THEN '. How soon it must switch off by this edition is not among these data' ELSE format(', at most {:g} min are asked for', vacancy_minutes) END)
        ELSE format('Programmed off all through each of {:d} stretches between closing and the next opening ({:d} min '
            || 'left at both ends; the night before the first opening of the period is left out).',
                stretches, (SELECT hours_margin_s // 60 FROM period))
    END || CASE WHEN hours_known AND NOT claimed_at_night THEN closed_words ELSE '' END AS said,
    CASE WHEN outcome IN ('contrary', 'insufficient data') THEN lit_from::DATE END AS first_date,
    CASE WHEN outcome IN ('contrary', 'insufficient data') AND last_s IS NOT NULL
        THEN last_day(timezone, utc(last_s)) END AS last_date,
    CASE WHEN outcome IN ('contrary', 'insufficient data') THEN utc(lit_from_s) END AS example_utc,
    CASE WHEN outcome IN ('contrary', 'insufficient data') THEN lit_s / 60 END AS minutes,
    CASE WHEN outcome IN ('contrary',
        'insufficient data') AND NOT dimmed THEN connected_watts * lit_s / 3600000 END AS kwh,
    CASE WHEN sensed AND vacancy_minutes IS NOT NULL THEN ['vacancy_minutes'] ELSE [] END AS limits,
    [circuit_id] AS circuits, source_file, source_row
FROM decided
ORDER BY site_id, subject_id
