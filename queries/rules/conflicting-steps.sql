--: name = "conflicting-steps"
--: title = "Steps that disagree at one instant"
--: severity = "medium"
--: subject = "circuit or sensor"
--: needs = []
--: fix = "device"
--
-- What goes wrong. Two programs were merged, or a copy was edited: one step says on, another off, at the same instant.
-- Why it matters. The order in the list decides, and the next save may change it.
-- On site. Read the program of this target sorted by time, and ask what was meant.
-- What good looks like. One step an instant.
-- Source: common practice, no source.

WITH scope AS (
    SELECT 'circuit' AS subject_kind, circuit_id AS subject_id, controller_id FROM circuits
    UNION ALL
    SELECT 'sensor', sensor_id, controller_id FROM sensors
), meeting AS (    -- in program order: the last one wins
    SELECT *, unnest(event_ids) AS event_id, generate_subscripts(event_ids, 1) AS place
    FROM conflicts JOIN scope USING (subject_kind, subject_id)
), fired AS (
    SELECT subject_kind, subject_id, times, first_utc, last_utc,
        string_agg(sourced, ' and ' ORDER BY place) AS steps, arg_max(words, place) AS last_step
    FROM meeting JOIN step_words USING (controller_id, event_id)
    GROUP BY subject_kind, subject_id, times, first_utc, last_utc
)
SELECT site_id, subject_kind, subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh,
    local(timezone, first_utc)::DATE AS first_date, local(timezone, last_utc)::DATE AS last_date,
    format('Steps disagree at one instant, {:d} time{}.', times, CASE WHEN times = 1 THEN '' ELSE 's' END) AS summary,
    format('On {} at {}{} these fire together and disagree: {}. The last in the program''s order wins.',
        day_words(local(timezone, first_utc)), clock_words(local(timezone, first_utc)),
        device_words(controller_id, first_utc, local(timezone, first_utc)), steps) AS seen,
    CASE WHEN (subject_kind, subject_id) IN (SELECT (subject_kind, subject_id) FROM relied_on)
        THEN 'Ask which of them is meant and who relies on this light: it must be lit for them. Then let a single '
             || 'step say so.'
        ELSE format('Ask which of them is meant and who relies on this light; keep one step for this instant. Today '
                    || '{} wins.', last_step)
    END AS remedy,
    NULL AS missing
FROM fired
JOIN scope USING (subject_kind, subject_id)
JOIN controllers USING (controller_id)
JOIN sites USING (site_id)
ORDER BY site_id, subject_kind, subject_id
