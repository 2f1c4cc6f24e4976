--: name = "exterior-daylight-off"
--: place = 12
--: title = "Exterior light off in daylight"
--: of_code = true
--: rests_on = "program"
--: test = "An hour after sunrise see that the circuit is dark; cover the photocontrol, where there is one, see that the light comes on, uncover it, and see that it goes out."
--: nobody = "No exterior circuit in use is in the export; look whether the site has exterior lighting on other switches."
--: absent = "not applicable"
--: reads = ["circuits", "events", "sensors", "sites"]
--
-- Every date of the audited period, with the portfolio's margin before sunset, and after sunrise the edition's limit, where
-- it has one, else that margin. Consistent: off in
-- daylight all through, by steps of the sun or a photocontrol. Contrary: programmed on in daylight. Off in daylight by
-- clock times alone is insufficient: nothing in the export makes it follow the light.

WITH stretches AS (   -- per day of light; no more than clocks are allowed to be wrong does not count
    SELECT circuit_id, span_no, min(span_start_s) AS span_start_s, min(span_end_s) AS span_end_s, min(from_s) AS from_s,
        arg_min(until_s, from_s) AS until_s, sum(until_s - from_s) AS lit_s, bool_or(level < 100) AS dimmed
    FROM e_overlaps WHERE kind = 'daylight' AND level > 0
    GROUP BY circuit_id, span_no HAVING lit_s > slack_s()
), totals AS (
    SELECT circuit_id, count(*) AS days_lit, sum(lit_s) AS lit_s, bool_or(dimmed) AS dimmed, max(until_s) AS last_s,
        arg_min({'rises': span_start_s, 'sets': span_end_s, 'lit_from': from_s,
            'lit_until': until_s}, span_no) AS earliest
    FROM stretches GROUP BY circuit_id
), sensed AS (
    SELECT circuit_id, min(from_s) AS sensed_from_s, sum(until_s - from_s) AS sensed_s
    FROM e_overlaps WHERE kind = 'daylight' AND conditional GROUP BY circuit_id
), days AS (
    SELECT site_id, count(*) FILTER (kind = 'daylight') AS days_of_light, count(*) FILTER (kind = 'light') AS bright_days
    FROM e_spans WHERE kind IN ('daylight', 'light') GROUP BY site_id
), judged AS (
    SELECT scope.*, coalesce(days_of_light, 0) AS days_of_light, coalesce(bright_days, 0) AS bright_days, days_lit, lit_s, dimmed, last_s, sensed_s, sensed_from_s,
        earliest.lit_from AS lit_from_s, photocontrols_out(scope.circuit_id, utc(earliest.lit_from)) AS photocontrols_out,
        CASE WHEN sunrise_margin_s = sunset_margin_s
            THEN format('{:d} min left after sunrise and before sunset', sunset_margin_s // 60)
            ELSE format('{:d} min left after sunrise and {:d} min before sunset', sunrise_margin_s // 60,
                sunset_margin_s // 60) END AS margin_words,
        local(timezone, utc(earliest.lit_from)) AS lit_from, local(timezone, utc(earliest.lit_until)) AS lit_until,
        local(timezone, utc(earliest.rises - sunrise_margin_s)) AS sunrise, local(timezone,
            utc(earliest.sets + sunset_margin_s)) AS sunset
    FROM e_scope AS scope JOIN e_daylight_margins USING (site_id)
    LEFT JOIN totals USING (circuit_id) LEFT JOIN sensed USING (circuit_id) LEFT JOIN days USING (site_id)
    WHERE item = 'exterior-daylight-off'
), decided AS (
    SELECT *, CASE
            WHEN claimed_by_day THEN claim_outcome
            WHEN bright_days = 0 THEN 'not applicable'
            WHEN days_of_light = 0 THEN 'insufficient data'
            WHEN lit_s > 0 AND sensors_known THEN 'contrary'
            WHEN lit_s > 0 THEN 'insufficient data'
            WHEN sensed_s > slack_s() AND controlled_by IS NULL THEN 'insufficient data'
            WHEN by_sun OR controlled_by IS NOT NULL THEN 'consistent'
            ELSE 'insufficient data'
        END AS outcome
    FROM judged
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, outcome,
    CASE
        WHEN claimed_by_day THEN claim_words || ' It is not held against daylight.'
        WHEN bright_days = 0 THEN 'The sun does not rise here in the audited period.'
        WHEN days_of_light = 0 THEN format('The sun rises, but no daylight is left to be judged on any date ({}).',
            margin_words)
        WHEN lit_s > 0 THEN format('Programmed on in daylight for {} on {} ({}). The first: on '
                || 'from {} to {}; sunrise is at {}, sunset at {}.{}',
            minutes_words(lit_s / 60), number_words(days_lit, 'date'), margin_words, when_local(lit_from),
                end_words(lit_from, lit_until),
            clock_words(sunrise), clock_words(sunset),
            CASE WHEN photocontrols_out IS NOT NULL THEN format(' Out of service then: {}.', photocontrols_out)
                 WHEN photocontrols > 0 THEN format(' Photocontrol {} acts on it, and the program holds it on beside it.',
                     photocontrol_ids)
                 WHEN NOT sensors_known THEN ' ' || no_sensors_words() || '.'
                 ELSE format(' No photocontrol acts on it{}.', absence_words) END)
        WHEN sensed_s > slack_s() AND controlled_by IS NULL
            THEN format('Not programmed on in daylight, but occupancy sensor {} may bring it on then, and no '
                || 'photocontrol in service acts on it.', occupancy_ids)
        WHEN outcome = 'consistent' THEN format('Not programmed on in daylight on any of {} ({}), by {}.',
            number_words(days_of_light, 'date'), margin_words,
            concat_ws(' and ', CASE WHEN by_sun THEN 'steps of the sun' END, 'photocontrol ' || controlled_by))
        ELSE format('Not programmed on in daylight on any of {}, but {}.', number_words(days_of_light, 'date'),
            CASE WHEN photocontrols > 0 THEN format('photocontrol {} is left out of service, and no step of the sun '
                || 'acts on it',
                     photocontrol_ids)
                 ELSE 'by clock times alone: neither steps of the sun nor a photocontrol are in the export' END)
    END AS said,
    CASE WHEN outcome <> 'not applicable' THEN lit_from::DATE END AS first_date,
    CASE WHEN outcome <> 'not applicable' AND last_s IS NOT NULL THEN last_day(timezone, utc(last_s)) END AS last_date,
    CASE WHEN outcome <> 'not applicable' THEN utc(coalesce(lit_from_s, CASE WHEN sensed_s > slack_s()
        AND controlled_by IS NULL THEN sensed_from_s END)) END AS example_utc,
    CASE WHEN outcome <> 'not applicable' THEN lit_s / 60 END AS minutes,
    CASE WHEN outcome <> 'not applicable' AND NOT dimmed THEN connected_watts * lit_s / 3600000 END AS kwh,
    CASE WHEN limit_of(edition, item, 'sunrise_minutes') IS NULL THEN [] ELSE ['sunrise_minutes'] END AS limits,
    [circuit_id] AS circuits, source_file, source_row
FROM decided
ORDER BY site_id, subject_id
