--: name = "facade-night-off"
--: place = 13
--: title = "Facade and landscape lighting off at night"
--: of_code = true
--: rests_on = "program"
--: test = "After the off of the evening see that facade and planting are dark, and that the override, where there is one, ends by itself."
--: nobody = "No facade or landscape circuit in use is in the export; look whether the site has such lighting on other switches."
--: absent = "not applicable"
--: reads = ["circuits", "events", "sensors", "hours", "closures"]
--
-- The edition's own window on every night. Consistent: off all through every one. Contrary: programmed on in one. Where
-- the window is empty on every night, because the site is open through it, nothing is asked. Of several windows any one
-- will do, for a circuit the same one over the whole period: contrary only if none is kept; minutes and
-- dates are then those of the window that comes nearest. A sensor that nobody exported changes nothing about light that is programmed on: in the dark a photocontrol
-- lets it burn. It may add light, though, and so it is said where everything is programmed off.

WITH windows AS (
    SELECT site_id, window_no, name, presence, left_out, windows
    FROM e_window_counts WHERE item = 'facade-night-off'
), lit AS (
    SELECT circuit_id, kind, span_no, min(span_start_s) AS span_start_s, min(span_end_s) AS span_end_s,
        min(from_s) FILTER (level > 0) AS from_s, coalesce(sum(until_s - from_s) FILTER (level > 0), 0) AS lit_s,
        coalesce(sum(until_s - from_s) FILTER (conditional), 0) AS sensed_s, bool_or(level > 0 AND level < 100) AS dimmed
    FROM e_overlaps WHERE kind LIKE 'facade-night-off/%'
    GROUP BY circuit_id, kind, span_no
), totals AS (
    SELECT circuit_id, kind, count(*) FILTER (lit_s > slack_s()) AS nights_lit,
        sum(lit_s) FILTER (lit_s > slack_s()) AS lit_s,
        sum(sensed_s) AS sensed_s, bool_or(dimmed) AS dimmed,
        arg_min({'starts': span_start_s, 'ends': span_end_s, 'lit_from': from_s}, span_no)
            FILTER (lit_s > slack_s()) AS earliest,
        max(span_end_s) FILTER (lit_s > slack_s()) AS last_s
    FROM lit GROUP BY circuit_id, kind
), judged AS (
    SELECT scope.*, window_no, windows.name AS window_name, presence, windows.windows AS nights, left_out,
        coalesce(nights_lit, 0) AS nights_lit,
        lit_s,
        coalesce(sensed_s, 0) AS sensed_s, dimmed, last_s, earliest.lit_from AS lit_from_s,
        local(timezone, utc(earliest.starts)) AS starts, local(timezone, utc(earliest.ends)) AS ends,
        local(timezone, utc(earliest.lit_from)) AS lit_from
    FROM e_scope AS scope JOIN windows USING (site_id)
    LEFT JOIN totals ON totals.circuit_id = scope.circuit_id AND totals.kind = format('facade-night-off/{}', window_no)
    WHERE item = 'facade-night-off'
), by_window AS (
    SELECT *, CASE
            WHEN presence IN ('hours unknown', 'outside', 'swallowed') THEN 'insufficient data'
            WHEN presence = 'empty' THEN 'not applicable'
            WHEN nights_lit > 0 THEN 'contrary'
            WHEN sensed_s > slack_s() THEN 'insufficient data'
            ELSE 'consistent'
        END AS by_this
    FROM judged
), told AS (
    SELECT *, CASE
        WHEN presence = 'hours unknown' THEN format('The hours of this site are not exported: when the window holds '
            || '({}) is not known.', window_name)
        WHEN presence = 'outside' THEN format('No whole window ({}) lies in the audited period.', window_name)
        WHEN presence = 'empty' THEN format('The window ({}) is empty on every date: by its hours the site is open '
            || 'through it.', window_name)
        WHEN presence = 'swallowed' THEN format('The window ({}) is empty on every date: the site closes, but for no '
            || 'longer than the window leaves out after closing and before opening.', window_name)
        WHEN nights_lit > 0 THEN format('Programmed on in the window ({}) {:d} of {:d} times{}, {} in all. The first: '
            || 'the window runs from {} to {}, '
                || 'and it is on in it from {}.', window_name, nights_lit, nights, left_out, minutes_words(lit_s / 60),
                    when_local(starts), end_words(starts, ends), since_words(starts, lit_from))
        WHEN sensed_s > slack_s() THEN format('Not programmed on in the window ({}), but occupancy sensor {} may bring '
            || 'it on in it.', window_name, occupancy_ids)
        ELSE format('Programmed off all through the window ({}) each of {:d} times{}.{}', window_name, nights,
            left_out,
            CASE WHEN sensors_known THEN '' ELSE ' ' || no_sensors_words() || '.' END)
        END AS words
    FROM by_window
), decided AS (         -- a window that never holds, beside one that is not kept, leaves open what is asked
    SELECT *, CASE
            WHEN claimed_at_night THEN claim_outcome
            WHEN bool_or(by_this = 'consistent') OVER choices THEN 'consistent'
            WHEN bool_and(by_this = 'contrary') OVER choices THEN 'contrary'
            WHEN bool_and(by_this = 'not applicable') OVER choices THEN 'not applicable'
            ELSE 'insufficient data'
        END AS outcome,
        list({'no': window_no, 'name': window_name, 'words': words}) OVER choices AS windows_told
    FROM told
    WINDOW choices AS (PARTITION BY circuit_id)
    QUALIFY row_number() OVER (PARTITION BY circuit_id ORDER BY lit_s, window_no) = 1
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, outcome,
    CASE
        WHEN claimed_at_night THEN claim_words || ' It is not held against the night window.'
        WHEN len(windows_told) = 1 THEN words
        ELSE format('Any one of {:d} windows will do, the same one over the whole period. ', len(windows_told))
            || array_to_string(list_transform(list_sort(windows_told), lambda told: told.words), ' ')
    END AS said,
    CASE WHEN outcome = 'contrary' THEN starts::DATE END AS first_date,
    CASE WHEN outcome = 'contrary' THEN last_day(timezone, utc(last_s)) END AS last_date,
    CASE WHEN outcome = 'contrary' THEN utc(lit_from_s) END AS example_utc,
    CASE WHEN outcome = 'contrary' THEN lit_s / 60 END AS minutes, CASE WHEN outcome = 'contrary' AND NOT dimmed
        THEN connected_watts * lit_s / 3600000 END AS kwh,
    CASE WHEN claimed_at_night THEN [] ELSE list_transform(list_sort(windows_told), lambda told: told.name) END AS limits,
    [circuit_id] AS circuits, source_file, source_row
FROM decided
ORDER BY site_id, subject_id
