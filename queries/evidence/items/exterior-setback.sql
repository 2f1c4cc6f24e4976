--: name = "exterior-setback"
--: place = 14
--: title = "Other exterior light cut at night, all of it together"
--: of_code = true
--: rests_on = "program"
--: test = "At night in the window measure the current of the feeders before and after the cut; where sensors are relied on, leave the area and time the cut."
--: nobody = "No exterior circuit in use of the areas that this is about is in the export; look whether the site has any on other switches."
--: absent = "not applicable"
--: reads = ["circuits", "events", "sensors", "hours", "closures"]
--
-- The connected load of all circuits of the group together, against the load that may stay on: the whole less the cut.
-- Cut by 30 %, not to 30 %. Two bounds, because the power of a dimmed level is not known without a curve: what surely
-- stays on (full level) and what at most does (any level). Any one permitted method will do: a window in which the cut
-- holds all through every night, or sensors that cut whenever nobody is there, whose time-out is short enough. Contrary
-- only if every method is ruled out. Circuits with a claimed exemption stand outside the group. Where a claim is not
-- settled, the group is reckoned without and with its circuits, and what is not the same either way is left open.

WITH members AS (
    SELECT *, limit_of(edition, item,
        'inactivity_minutes') AS inactivity_minutes FROM e_scope WHERE item = 'exterior-setback'
), unsettled AS (
    SELECT DISTINCT site_id FROM members WHERE claimed_at_night AND claim_outcome <> 'not applicable'
), counted AS (        -- whole: with the circuits whose claim is not settled
    SELECT *, unnest(CASE WHEN claimed_at_night AND claim_outcome = 'not applicable' THEN []
        WHEN claimed_at_night THEN [true] WHEN site_id IN (FROM unsettled) THEN [false, true] ELSE [false] END) AS whole
    FROM members
), groups AS (
    SELECT site_id, whole, any_value(edition) AS edition, any_value(timezone) AS timezone,
        any_value(sensors_known) AS sensors_known,
        string_agg(DISTINCT 'device ' || controller_id, ', ' ORDER BY 'device ' || controller_id)
            FILTER (absence_words <> '') AS bare_devices,
        limit_of(edition, 'exterior-setback', 'cut_percent') AS cut_percent,
        count(*) AS circuit_count, count(*) FILTER (connected_watts IS NULL) AS unknown_count,
        sum(connected_watts::DECIMAL(18, 3)) AS total_w, list(circuit_id ORDER BY circuit_id) AS circuits,
        string_agg(circuit_id, ', ' ORDER BY circuit_id) FILTER (connected_watts IS NULL) AS unknown_ids,
        sum(occupancy_sensors) AS occupancy_sensors, bool_or(dims) AS dims,
        max(longest_timeout_minutes) AS longest_timeout_minutes, any_value(inactivity_minutes) AS inactivity_minutes,
        arg_min(source_file, source_row) AS source_file, min(source_row) AS source_row
    FROM counted GROUP BY site_id, whole, edition
), pieces AS (        -- what a lit circuit adds to each bound, in a window or (kind period) when nobody is there
    SELECT site_id, whole, kind, span_no, span_start_s, span_end_s, from_s, until_s, connected_watts::DECIMAL(18, 3) AS watts,
        CASE WHEN NOT conditional THEN level >= 100
             ELSE kind = 'period' AND longest_timeout_minutes > inactivity_minutes AND unknown_timeouts = 0 END AS sure,
        kind <> 'period' OR NOT conditional OR unknown_timeouts > 0 OR longest_timeout_minutes > inactivity_minutes AS
            may,
        sure AND conditional AS slow   -- left to a sensor whose time-out is longer than asked for
    FROM e_overlaps JOIN counted USING (site_id, circuit_id)
    WHERE kind LIKE 'exterior-setback/%' OR kind = 'period'
), turns AS (
    SELECT site_id, whole, kind, span_no, span_start_s, span_end_s, unnest([from_s, until_s]) AS at_s, unnest([1, -1]) AS way,
        watts, sure, may, slow
    FROM pieces WHERE sure OR may
), moments AS (
    SELECT site_id, whole, kind, span_no, any_value(span_end_s) AS span_end_s, at_s,
        coalesce(sum(way * watts) FILTER (sure), 0) AS sure_turn_w, coalesce(sum(way) FILTER (sure), 0) AS sure_turn,
        coalesce(sum(way * watts) FILTER (may), 0) AS may_turn_w, coalesce(sum(way) FILTER (may), 0) AS may_turn,
        coalesce(sum(way) FILTER (slow), 0) AS slow_turn
    FROM turns GROUP BY site_id, whole, kind, span_no, at_s
), segments AS (
    SELECT site_id, whole, kind, span_no, at_s, lead(at_s) OVER span AS until_s, sum(sure_turn_w) OVER span AS sure_w,
        sum(sure_turn) OVER span AS sure, sum(may_turn_w) OVER span AS may_w, sum(may_turn) OVER span AS may,
        sum(slow_turn) OVER span AS slow
    FROM moments
    WINDOW span AS (PARTITION BY site_id, whole, kind, span_no ORDER BY at_s)
), weighed AS (
    SELECT segments.*, until_s - at_s AS length_s, total_w * (100 - cut_percent)::DECIMAL(9, 4) / 100 AS allowed_w,
        sure = circuit_count OR unknown_count = 0 AND sure_w > allowed_w AS over,
        may = 0 OR unknown_count = 0 AND may_w <= allowed_w AS under
    FROM segments JOIN groups USING (site_id, whole)
    WHERE until_s IS NOT NULL
), nights AS (
    SELECT site_id, whole, kind, span_no, coalesce(sum(length_s) FILTER (over), 0) AS over_s,
        coalesce(sum(length_s) FILTER (NOT under), 0) AS not_under_s,
        arg_min({'at_s': at_s, 'watts': sure_w, 'circuits': sure, 'slow': slow}, at_s) FILTER (over) AS first_over,
        min(at_s) FILTER (NOT under) AS first_open_s,
        sum(length_s * (sure_w - allowed_w)) FILTER (over) AS excess_ws
    FROM weighed GROUP BY site_id, whole, kind, span_no
), by_kind AS (
    SELECT site_id, whole, kind, count(*) FILTER (over_s > slack_s()) AS nights_over, sum(over_s)
        FILTER (over_s > slack_s()) AS over_s,
        count(*) FILTER (not_under_s > slack_s()) AS nights_open, arg_min(first_over, span_no)
            FILTER (over_s > slack_s()) AS first_over,
        min(first_open_s) FILTER (not_under_s > slack_s()) AS first_open_s, sum(excess_ws)
            FILTER (over_s > slack_s()) AS excess_ws,
        max(first_over.at_s) FILTER (over_s > slack_s()) AS last_over_s
    FROM nights GROUP BY site_id, whole, kind
), by_window AS (
    SELECT site_id, whole, window_no, name, presence, windows, left_out, nights_over, over_s, nights_open, first_over,
        first_open_s,
        excess_ws, last_over_s,
        CASE
            WHEN presence = 'hours unknown' OR presence = 'outside' THEN 'open'
            WHEN presence IN ('empty', 'swallowed') THEN presence
            WHEN nights_over > 0 THEN 'not met'
            WHEN nights_open > 0 THEN 'open'
            ELSE 'met'
        END AS met
    FROM (SELECT site_id, whole, window_no, name, presence, windows, left_out
        FROM e_window_counts JOIN (SELECT site_id, whole FROM groups) USING (site_id)
        WHERE item = 'exterior-setback') AS windows
    LEFT JOIN (SELECT * EXCLUDE (kind), split_part(kind, '/', 2)::INTEGER AS window_no
        FROM by_kind WHERE kind <> 'period') AS by_kind USING (site_id, whole, window_no)
), methods AS (
    SELECT * FROM by_window
    UNION ALL
    SELECT groups.site_id, whole, 99, 'whenever nobody is there', 'there', NULL, NULL, nights_over, over_s, nights_open,
        first_over,
        first_open_s, NULL, NULL,
        CASE
            WHEN occupancy_sensors = 0 AND sensors_known THEN 'not met'
            WHEN occupancy_sensors = 0 THEN 'open'
            WHEN nights_over > 0 THEN 'not met'
            WHEN nights_open > 0 THEN 'open'
            ELSE 'met'
        END
    FROM groups LEFT JOIN (FROM by_kind WHERE kind = 'period') AS by_kind USING (site_id, whole)
), told AS (
    SELECT *, total_w * (100 - cut_percent)::DECIMAL(9, 4) / 100 AS allowed_w,
        CASE WHEN window_no = 99 AND occupancy_sensors = 0
                THEN CASE WHEN sensors_known THEN 'no occupancy sensor acts on the group' ||
                    coalesce(absence_words(bare_devices), '')
                    ELSE lower(no_sensors_words()[1])
                    || no_sensors_words()[2:] END
            WHEN presence = 'hours unknown' THEN 'the hours of this site are not exported'
            WHEN presence = 'outside' THEN 'no whole window lies in the audited period'
            WHEN met = 'empty' THEN 'it is empty on every date, for by its hours the site is open through it'
            WHEN met = 'swallowed' THEN 'it is empty on every date, for the site closes for no longer than the window '
                || 'leaves out after closing and before opening'
            WHEN met = 'not met' AND window_no = 99 THEN format(CASE WHEN first_over.slow > 0
                    THEN format('the time-out of {:g} min is longer than the {:g} min allowed, so that ',
                        longest_timeout_minutes, inactivity_minutes) ||
                            'on {} {} may stay on for longer when nobody is there'
                    ELSE 'on {} {} are held on by the program, whether or not anybody is there' END,
                when_local(local(timezone, utc(first_over.at_s))), CASE WHEN unknown_count = 0
                    THEN watts_words(first_over.watts::DOUBLE) ELSE 'all circuits' END)
            WHEN met = 'not met' THEN format('not kept in {:d} of {:d} windows{}, first on {}, when {} on',
                nights_over,
                windows, left_out,
                when_local(local(timezone, utc(first_over.at_s))),
                CASE WHEN unknown_count = 0 THEN watts_words(first_over.watts::DOUBLE) || ' stay'
                    ELSE 'all circuits of the group stay fully' END)
            WHEN met = 'open' THEN format('not shown to be kept, first on {}, because {}', when_local(local(timezone,
                utc(first_open_s))),
                CASE WHEN unknown_count > 0 THEN format('connected_watts is not exported for {}', unknown_ids)
                     WHEN dims THEN 'the power of a dimmed level is not known without a curve'
                     ELSE 'what sensors bring on is not known' END)
            ELSE CASE WHEN window_no = 99 THEN 'enough is left to occupancy sensors'
                ELSE format('the cut holds in each of {:d} windows{}', windows, left_out) END
        END AS words
    FROM methods JOIN groups USING (site_id, whole)
), by_group AS (
    SELECT site_id, whole,
        CASE WHEN bool_or(met = 'met') THEN 'consistent'
             WHEN bool_or(met = 'open') THEN 'insufficient data'
             WHEN bool_and(met = 'empty') FILTER (window_no < 99) THEN 'not applicable'
             WHEN bool_or(met IN ('empty', 'swallowed')) THEN 'insufficient data'
             ELSE 'contrary' END AS outcome,
        string_agg(format('{}: {}', name, words), '; ' ORDER BY window_no) AS words, list(name ORDER BY window_no)
            FILTER (window_no < 99) AS names,
        arg_min({'over_s': over_s, 'excess_ws': excess_ws, 'at_s': first_over.at_s, 'last_s': last_over_s}, (excess_ws,
            window_no))
            FILTER (met = 'not met' AND window_no < 99) AS least   -- the window that lacks least
    FROM told GROUP BY site_id, whole
), decided AS (
    SELECT without.* EXCLUDE (outcome, whole), without.outcome AS without_outcome, whole.outcome AS whole_outcome,
        CASE WHEN whole.outcome <> without.outcome THEN 'insufficient data' ELSE without.outcome END AS outcome
    FROM (FROM by_group WHERE NOT whole) AS without LEFT JOIN (FROM by_group AS groups WHERE groups.whole) AS whole USING (site_id)
), claims AS (
    SELECT site_id, string_agg(format('{} ({})', circuit_id, claim), ', ' ORDER BY circuit_id) AS claimed,
        string_agg(circuit_id, ', ' ORDER BY circuit_id) FILTER (claim_outcome <> 'not applicable') AS unsettled,
        list(circuit_id ORDER BY circuit_id) FILTER (claim_outcome <> 'not applicable') AS unsettled_circuits
    FROM members WHERE claimed_at_night GROUP BY site_id
)
SELECT decided.site_id, 'group' AS subject_kind, array_to_string(circuits, ';') AS subject_id, outcome,
    format('{}; by {:g} % less at most {} may stay on, and any one method will do. By method: {}.{}{}',
        together_words(circuit_count, total_w::DOUBLE, unknown_ids),
        cut_percent, CASE WHEN unknown_count = 0 THEN watts_words((total_w * (100 - cut_percent)::DECIMAL(9,
            4) / 100)::DOUBLE) ELSE 'an unknown load' END, words,
        CASE WHEN outcome = 'insufficient data' AND words LIKE '%empty on every date%'
            THEN ' Whether a method without a window here is enough is for the authority having jurisdiction.' ELSE '' END,
        coalesce(format(' Left out: {}.', claimed), '')
        || CASE WHEN whole_outcome <> without_outcome THEN format(' The claim of {} is not settled: with {} in the group this '
            || 'would be {}, without {}; so nothing is shown.', unsettled, CASE WHEN unsettled LIKE '%, %' THEN 'them'
                ELSE 'it' END, whole_outcome, without_outcome) ELSE '' END) AS said,
    CASE WHEN outcome = 'contrary' THEN (local(timezone, utc(least.at_s)))::DATE END AS first_date,
    CASE WHEN outcome = 'contrary' THEN (local(timezone, utc(least.last_s)))::DATE END AS last_date,
    CASE WHEN outcome = 'contrary' THEN utc(least.at_s) END AS example_utc,
    CASE WHEN outcome = 'contrary' THEN least.over_s / 60 END AS minutes,
    CASE WHEN outcome = 'contrary' AND unknown_count = 0 AND NOT dims THEN least.excess_ws::DOUBLE / 3600000 END AS kwh,
    list_concat(['cut_percent', 'inactivity_minutes'], names) AS limits,
    CASE WHEN whole_outcome <> without_outcome THEN list_concat(circuits, unsettled_circuits) ELSE circuits END AS circuits,
    source_file, source_row
FROM decided JOIN groups ON groups.site_id = decided.site_id AND NOT groups.whole LEFT JOIN claims ON claims.site_id = decided.site_id
UNION ALL
SELECT site_id, 'circuit', circuit_id, claim_outcome, claim_words || ' It stands outside the group.',
    NULL, NULL, NULL, NULL, NULL, [], [circuit_id], source_file, source_row
FROM members WHERE claimed_at_night
ORDER BY site_id, subject_id
