--: name = "motion-control"
--: place = 16
--: title = "Low-mounted luminaires cut when nobody is there"
--: of_code = true
--: rests_on = "program"
--: test = "At night leave the area and time the cut, then walk in from every side and see the light come back; count the luminaires that follow one sensor and add their watts."
--: nobody = "No circuit in use of the areas that this is about is in the export; look whether the site has any on other switches."
--: absent = "not applicable"
--: reads = ["circuits", "events", "sensors"]
--
-- A schedule alone never passes. Luminaires at or below the threshold in watts, or hung higher, are not asked. Contrary:
-- over the threshold and no sensor acts, or its time-out is too long, or too many watts hang on one sensor. Consistent:
-- sensors within all limits are what the light is left to whenever it is dark. A dimmed level is not power without a curve.

WITH loads AS (         -- what follows one sensor together
    SELECT acting.circuit_id, max(watts) AS group_w, max(unknown) AS unknown_loads
    FROM (SELECT circuit_id, sensor_id FROM e_acting WHERE kind = 'occupancy') AS acting
    JOIN (SELECT sensor_id, sum(connected_watts::DECIMAL(18, 3)) AS watts,
        count(*) FILTER (connected_watts IS NULL) AS unknown
          FROM e_acting JOIN e_circuits USING (circuit_id) WHERE kind = 'occupancy' GROUP BY sensor_id) USING (sensor_id)
    GROUP BY acting.circuit_id
), lit AS (
    SELECT circuit_id, coalesce(sum(until_s - from_s) FILTER (kind = 'period' AND conditional), 0)
            - coalesce(sum(until_s - from_s) FILTER (kind = 'light' AND conditional), 0) AS sensed_s,
        coalesce(sum(until_s - from_s) FILTER (kind = 'period' AND level > 0), 0)
            - coalesce(sum(until_s - from_s) FILTER (kind = 'light' AND level > 0), 0) AS held_s,
        min(from_s) FILTER (kind = 'period' AND level > 0) AS held_from_s
    FROM e_overlaps WHERE kind IN ('period', 'light') GROUP BY circuit_id
), judged AS (
    SELECT scope.*, limit_of(edition, item, 'luminaire_watts') AS watts_limit, limit_of(edition, item,
        'height_ft') AS height_limit,
        limit_of(edition, item, 'inactivity_minutes') AS minutes_limit, limit_of(edition,
            item, 'group_watts') AS group_limit,
        limit_of(edition, item, 'most_cut_percent') AS most_cut_percent,
        feet(mounting_height_m) AS height_ft, group_w, coalesce(unknown_loads, 0) AS unknown_loads, coalesce(sensed_s,
            0) AS sensed_s,
        coalesce(held_s, 0) AS held_s, held_from_s
    FROM e_scope AS scope LEFT JOIN loads USING (circuit_id) LEFT JOIN lit USING (circuit_id)
    WHERE item = 'motion-control'
), decided AS (
    SELECT *, CASE
            WHEN claimed_at_night THEN 'claimed'
            WHEN luminaire_watts <= watts_limit OR round(height_ft, 1) > height_limit THEN 'below'
            WHEN luminaire_watts IS NULL OR height_ft IS NULL THEN 'no data'
            WHEN height_ft > height_limit THEN 'rounding'
            WHEN occupancy_sensors = 0 AND sensors_known THEN 'no sensor'
            WHEN occupancy_sensors = 0 THEN 'sensors unknown'
            WHEN longest_timeout_minutes > minutes_limit THEN 'slow'
            WHEN group_w > group_limit THEN 'large'
            WHEN unknown_timeouts > 0 THEN 'no time-out'
            WHEN unknown_loads > 0 THEN 'no watts'
            WHEN held_s > slack_s() THEN 'held'
            WHEN sensed_s <= slack_s() THEN 'never'
            WHEN most_cut_percent IS NOT NULL THEN 'all off'
            ELSE 'cut'
        END AS case_of
    FROM judged
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id,
    CASE WHEN case_of = 'claimed' THEN claim_outcome
         WHEN case_of = 'below' THEN 'not applicable'
         WHEN case_of IN ('no sensor', 'slow', 'large') THEN 'contrary'
         WHEN case_of = 'cut' THEN 'consistent' ELSE 'insufficient data' END AS outcome,
    CASE WHEN case_of IN ('claimed', 'no data') THEN ''
         ELSE concat_ws(', ', format('{:g} W a luminaire', luminaire_watts), format('{:.1f} ft ({:g} m) high', height_ft,
             mounting_height_m))
            || format(' (asked of those above {:g} W at most {:g} ft high): ', watts_limit, height_limit) END
    || CASE case_of
        WHEN 'claimed' THEN claim_words || ' It is not judged.'
        WHEN 'below' THEN 'no sensor is asked for.'
        WHEN 'no data' THEN format('Not exported: {}. Whether a sensor is asked for is not known.', concat_ws(' and ',
            CASE WHEN luminaire_watts IS NULL THEN 'luminaire_watts' END, CASE WHEN height_ft IS NULL
                THEN 'mounting_height_m' END))
        WHEN 'rounding' THEN 'whether it hangs higher or not lies within the rounding of the figures, so that whether a '
            || 'sensor is asked for is not known.'
        WHEN 'no sensor' THEN format('no occupancy sensor acts on it{}.', absence_words)
        WHEN 'sensors unknown' THEN lower(no_sensors_words()[1]) || no_sensors_words()[2:] || '.'
        WHEN 'slow' THEN format('its longest time-out is {:g} min, at most {:g} are asked for.', longest_timeout_minutes,
            minutes_limit)
        WHEN 'large' THEN format('{} follow one sensor, at most {} may.', watts_words(group_w::DOUBLE),
            watts_words(group_limit))
        WHEN 'no time-out' THEN format('timeout_minutes of sensor {} is not exported.', occupancy_ids)
        WHEN 'no watts' THEN 'connected_watts of what follows its sensor is not exported.'
        WHEN 'held' THEN format('occupancy sensor {} acts on it, but the program holds it on in the dark for {}, '
            || 'whether or not anybody is there; '
            || 'what a level between does to its power is not known without a curve.', occupancy_ids,
                minutes_words(held_s / 60))
        WHEN 'never' THEN format('occupancy sensor {} acts on it, but it is left to it at no time when it is dark.',
            occupancy_ids)
        WHEN 'all off' THEN format('occupancy sensor {} takes it off altogether; a cut by no more than {:g} % is asked '
            || 'for, and whether it can is not exported.',
            occupancy_ids, most_cut_percent)
        ELSE format('left to occupancy sensor {} whenever it is dark, time-out {:g} min, {} together.', occupancy_ids,
            longest_timeout_minutes,
            watts_words(group_w::DOUBLE))
    END AS said,
    NULL::DATE AS first_date, NULL::DATE AS last_date,
        CASE WHEN case_of = 'held' THEN utc(held_from_s) END AS example_utc,
    NULL::DOUBLE AS minutes, NULL::DOUBLE AS kwh,
    CASE case_of WHEN 'claimed' THEN [] WHEN 'below' THEN ['luminaire_watts', 'height_ft']
        ELSE ['luminaire_watts', 'height_ft', 'inactivity_minutes', 'group_watts', 'cut_percent'] END AS limits,
    [circuit_id] AS circuits, source_file, source_row
FROM decided
ORDER BY site_id, subject_id
