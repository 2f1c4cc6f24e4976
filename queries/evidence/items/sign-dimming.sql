--: name = "sign-dimming"
--: place = 17
--: title = "Signs: switched by the light and the clock, dimmed at night where they burn by day too"
--: of_code = true
--: rests_on = "program"
--: test = "By day and an hour after dusk measure the power of the sign; cover the photocontrol, where there is one, and see what follows."
--: nobody = "No sign in use is in the export; look whether the site has signs on other switches."
--: absent = "not applicable"
--: reads = ["circuits", "events", "sensors", "sites"]
--
-- A sign that is on for more than the hours of daylight asked about on some date, and on at night: contrary at full level,
-- insufficient at a dimmed one, for a level is not power without a curve. A sign that is dark by day: consistent where
-- steps of the sun, or a photocontrol beside steps, switch it; by clock times alone insufficient.

WITH by_day AS (
    SELECT circuit_id, span_no, sum(until_s - from_s) AS lit_s, min(from_s) AS from_s
    FROM e_overlaps WHERE kind = 'light' AND level > 0 GROUP BY circuit_id, span_no
), scope AS (
    SELECT e_scope.*, limit_of(edition, item, 'daylight_hours') AS daylight_hours, limit_of(edition, item,
        'cut_percent') AS cut_percent
    FROM e_scope WHERE item = 'sign-dimming'
), days AS (
    SELECT circuit_id, count(*) AS days_lit, arg_min({'from_s': from_s, 'lit_s': lit_s}, span_no) AS earliest,
        max(from_s) AS last_s
    FROM by_day JOIN scope USING (circuit_id) WHERE lit_s > daylight_hours * 3600 GROUP BY circuit_id
), nights AS (          -- in the dark: all light less the light by day
    SELECT circuit_id,
        coalesce(sum(until_s - from_s) FILTER (kind = 'period' AND level >= 100), 0) - coalesce(sum(until_s - from_s)
            FILTER (kind = 'light' AND level >= 100), 0) AS full_s,
        coalesce(sum(until_s - from_s) FILTER (kind = 'period' AND level > 0 AND level < 100), 0)
            - coalesce(sum(until_s - from_s) FILTER (kind = 'light' AND level > 0 AND level < 100), 0) AS dim_s
    FROM e_overlaps WHERE kind IN ('period', 'light') GROUP BY circuit_id
), decided AS (
    SELECT scope.*, coalesce(days_lit, 0) AS days_lit, last_s, earliest.from_s AS from_s, earliest.lit_s AS lit_s,
        local(timezone, utc(earliest.from_s)) AS from_local, coalesce(full_s, 0) AS full_s,
            coalesce(dim_s, 0) AS dim_s, CASE
            WHEN claimed_by_day OR claimed_at_night THEN 'claimed'
            WHEN days_lit > 0 AND full_s > slack_s() AND sensors_known THEN 'full'
            WHEN days_lit > 0 AND full_s > slack_s() THEN 'sensors unknown'
            WHEN days_lit > 0 AND dim_s > slack_s() THEN 'dimmed'
            WHEN days_lit > 0 THEN 'day only'
            WHEN by_sun OR controlled_by IS NOT NULL AND steps > 0 THEN 'dark by day'
            ELSE 'clock'
        END AS case_of
    FROM scope LEFT JOIN days USING (circuit_id) LEFT JOIN nights USING (circuit_id)
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id,
    CASE case_of WHEN 'claimed' THEN claim_outcome WHEN 'day only' THEN 'not applicable' WHEN 'full' THEN 'contrary'
        WHEN 'dark by day' THEN 'consistent' ELSE 'insufficient data' END AS outcome,
    CASE case_of
        WHEN 'claimed' THEN claim_words || ' It is not judged.'
        WHEN 'day only' THEN 'It is on by day and never at night: no dimming at night is asked for.'
        WHEN 'dark by day' THEN format('On for at most {:g} h of daylight on every date, by {}: no dimming at night is '
            || 'asked for.', daylight_hours,
            concat_ws(' and ', CASE WHEN by_sun THEN 'steps of the sun' END, 'photocontrol ' || controlled_by))
        WHEN 'clock' THEN 'On for little or no daylight, but by clock times alone: neither steps of the sun nor a '
            || 'photocontrol in service with steps are in the export.'
        ELSE format('On for more than {:g} h of daylight on {}, first on {} ({}), and at night {}; at night {:g} % '
            || 'less are asked for.{}',
            daylight_hours, number_words(days_lit, 'date'), when_local(from_local), minutes_words(lit_s / 60),
            CASE WHEN case_of = 'dimmed' THEN format('at a dimmed level for {}, whose power is not known without a curve',
                minutes_words(dim_s / 60))
                 ELSE format('at full level for {}', minutes_words(full_s / 60)) END, cut_percent,
            CASE WHEN case_of = 'sensors unknown' THEN ' ' || no_sensors_words() || '.' ELSE '' END)
    END AS said,
    CASE WHEN case_of IN ('full', 'dimmed', 'sensors unknown') THEN from_local::DATE END AS first_date,
    CASE WHEN case_of IN ('full', 'dimmed', 'sensors unknown') THEN (local(timezone, utc(last_s)))::DATE END AS last_date,
    CASE WHEN case_of IN ('full', 'dimmed', 'sensors unknown') THEN utc(from_s) END AS example_utc,
    NULL::DOUBLE AS minutes, NULL::DOUBLE AS kwh,
    CASE case_of WHEN 'claimed' THEN [] ELSE ['daylight_hours', 'cut_percent'] END AS limits, [circuit_id] AS circuits,
        source_file, source_row
FROM decided
ORDER BY site_id, subject_id
