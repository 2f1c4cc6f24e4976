--: name = "exterior-scheduling"
--: place = 15
--: title = "Outdoor light can be cut in part and switched off, by schedule"
--: of_code = true
--: rests_on = "program"
--: test = "Run both steps: measure the power at the cut and see that it lies in the range asked for, then see that everything goes off; see that two periods of the night take levels of their own."
--: nobody = "No outdoor circuit in use of the areas that this is about is in the export; look whether the site has any on other switches."
--: absent = "not applicable"
--: reads = ["circuits", "events", "sensors", "hours", "closures"]
--
-- What the devices can do, as far as the program shows it: all outdoor circuits together, cut in part at some time (by
-- switching some of them off, for a dimmed level is not power without a curve), all off at another, and in the period
-- that is normally unoccupied cut or off: unoccupied time by the hours of the site, else the edition's default. All
-- else is insufficient and never contrary, for a program that does not use a level does not prove that there is none.

WITH members AS (
    SELECT * FROM e_scope WHERE item = 'exterior-scheduling'
), counted AS (
    SELECT * FROM members WHERE NOT claimed_at_night
), groups AS (
    SELECT site_id, any_value(timezone) AS timezone, any_value(hours_known) AS hours_known, edition,
        limit_of(edition, 'exterior-scheduling', 'cut_percent') AS cut_percent,
        limit_of(edition, 'exterior-scheduling', 'most_cut_percent') AS most_cut_percent,
        count(*) AS circuit_count, count(*) FILTER (connected_watts IS NULL) AS unknown_count,
        sum(connected_watts::DECIMAL(18, 3)) AS total_w, list(circuit_id ORDER BY circuit_id) AS circuits,
        string_agg(circuit_id, ', ' ORDER BY circuit_id) FILTER (connected_watts IS NULL) AS unknown_ids,
        sum(occupancy_sensors) AS occupancy_sensors, bool_or(dims) AS dims, sum(steps) AS steps,
            any_value(start_s) AS start_s, any_value(end_s) AS end_s,
        arg_min(source_file, source_row) AS source_file, min(source_row) AS source_row
    FROM counted GROUP BY site_id, edition
), turns AS (
    SELECT site_id, kind, span_no, unnest([from_s, until_s]) AS at_s, unnest([1, -1]) AS way, connected_watts::DECIMAL(18,
        3) AS watts,
        level >= 100 AND NOT conditional AS sure
    FROM e_overlaps JOIN counted USING (site_id, circuit_id)
    WHERE kind = 'period' OR kind = CASE WHEN hours_known THEN 'unoccupied' ELSE 'exterior-scheduling/1' END
), moments AS (
    SELECT site_id, kind, span_no, at_s, sum(way * watts) AS may_turn_w, sum(way) AS may_turn, coalesce(sum(way)
        FILTER (sure), 0) AS sure_turn
    FROM turns GROUP BY site_id, kind, span_no, at_s
), segments AS (
    SELECT site_id, kind, span_no, at_s, lead(at_s) OVER span - at_s AS length_s, sum(may_turn_w) OVER span AS may_w,
        sum(may_turn) OVER span AS may, sum(sure_turn) OVER span AS sure
    FROM moments WINDOW span AS (PARTITION BY site_id, kind, span_no ORDER BY at_s)
), shown AS (
    SELECT site_id,
        min(at_s) FILTER (kind = 'period' AND may > 0 AND sure = may AND length_s > slack_s() AND unknown_count = 0
            AND may_w <= total_w * (100 - cut_percent)::DECIMAL(9, 4) / 100
            AND may_w >= total_w * (100 - most_cut_percent)::DECIMAL(9, 4) / 100) AS step_s,
        coalesce(sum(length_s) FILTER (kind = 'period' AND may > 0), 0) AS lit_s,
        coalesce(max(length_s) FILTER (kind <> 'period' AND may > 0 AND NOT coalesce(unknown_count = 0
            AND may_w <= total_w * (100 - cut_percent)::DECIMAL(9, 4) / 100, false)), 0) AS full_in_window_s,
        min(at_s) FILTER (kind <> 'period' AND may > 0 AND length_s > slack_s() AND NOT coalesce(unknown_count = 0
            AND may_w <= total_w * (100 - cut_percent)::DECIMAL(9, 4) / 100, false)) AS full_from_s
    FROM segments JOIN groups USING (site_id)
    GROUP BY site_id
), windows AS (      -- the hours of the site, where it declares them, go before the edition's default
    SELECT site_id, NULL AS name, 'by the hours of the site' AS words, count(span_no) AS nights
    FROM e_sites LEFT JOIN (FROM e_spans WHERE kind = 'unoccupied') USING (site_id) WHERE hours_known GROUP BY site_id
    UNION ALL
    SELECT site_id, name, 'window: ' || name, windows
    FROM e_window_counts WHERE item = 'exterior-scheduling' AND window_no = 1 AND NOT hours_known
), judged AS (
    SELECT groups.*, step_s, coalesce(lit_s, 0) AS lit_s, name, words, nights, full_from_s,
        local(timezone, utc(step_s)) AS step_local,
        local(timezone, utc(full_from_s)) AS full_local,
        coalesce(lit_s, 0) < end_s - start_s - slack_s() AS off_shown, coalesce(full_in_window_s, 0) <= slack_s()
            AND coalesce(nights, 0) > 0 AS cut_in_window,
        circuit_count = 1 AND NOT dims AND occupancy_sensors = 0 AND steps > 0 AS single
    FROM groups LEFT JOIN shown USING (site_id) LEFT JOIN windows USING (site_id)
), decided AS (
    SELECT *, CASE
            WHEN step_s IS NOT NULL AND off_shown AND cut_in_window THEN 'consistent'
            ELSE 'insufficient data'
        END AS outcome
    FROM judged
), claims AS (
    SELECT site_id, string_agg(format('{} ({})', circuit_id, claim), ', ' ORDER BY circuit_id) AS claimed
    FROM members WHERE claimed_at_night GROUP BY site_id
)
SELECT site_id, 'group' AS subject_kind, array_to_string(circuits, ';') AS subject_id, outcome,
    CASE WHEN single THEN format('A single channel that the program switches on and off only; a cut by {:g} to {:g} % is '
            || 'not among its steps. Whether the channel could hold a level between is not exported: a device that is '
            || 'known '
            || 'to switch a single channel on and off only cannot do what is asked, which is for the reviewer to find '
            || 'out. '
            || 'Normally unoccupied ({}): {}.', cut_percent, most_cut_percent, words,
                CASE WHEN nights = 0 THEN 'not seen in the audited period'
                     WHEN cut_in_window THEN format('off, each of {:d} times', nights)
                     ELSE 'on, first on ' || when_local(full_local) END)
        ELSE format('{}. Cut by {:g} to {:g} %: {}. All off: {}. Normally unoccupied ({}): {}.',
            together_words(circuit_count, total_w::DOUBLE, unknown_ids), cut_percent, most_cut_percent,
            CASE WHEN step_s IS NOT NULL THEN 'shown, first on ' || when_local(step_local)
                 WHEN unknown_count > 0 THEN format('not shown, for connected_watts is not exported for {}', unknown_ids)
                 WHEN dims THEN 'not shown, for the power of a dimmed level is not known without a curve'
                 ELSE 'not shown by the program; whether the devices could is not exported' END,
            CASE WHEN off_shown THEN 'shown' ELSE 'not shown, something is on all through the period' END, words,
            CASE WHEN nights = 0 THEN 'not seen in the audited period'
                 WHEN cut_in_window THEN format('cut or off, each of {:d} times', nights)
                 ELSE format('not surely cut by {:g} %, first on {}', cut_percent, when_local(full_local)) END)
    END || coalesce(format(' Left out: {}.', claimed), '') AS said,
    NULL::DATE AS first_date, NULL::DATE AS last_date, utc(CASE WHEN outcome = 'consistent' THEN step_s
        ELSE full_from_s END) AS example_utc,
    NULL::DOUBLE AS minutes, NULL::DOUBLE AS kwh,
    ['cut_percent', 'most_cut_percent', 'night_periods']
        || CASE WHEN name IS NULL THEN [] ELSE [name] END AS limits, circuits, source_file, source_row
FROM decided LEFT JOIN claims USING (site_id)
UNION ALL
SELECT site_id, 'circuit', circuit_id, claim_outcome, claim_words || ' It stands outside the group.',
    NULL, NULL, NULL, NULL, NULL, [], [circuit_id], source_file, source_row
FROM members WHERE claimed_at_night
ORDER BY site_id, subject_id
