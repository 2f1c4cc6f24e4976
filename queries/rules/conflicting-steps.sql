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
)
SELECT site_id, subject_kind, subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh,
    local(timezone, first_utc)::DATE AS first_date, local(timezone, last_utc)::DATE AS last_date,
    format('Steps disagree at one instant, {:d} time{}.', times, CASE WHEN times = 1 THEN '' ELSE 's' END) AS summary,
    format('On {} at {} these steps fire together and disagree: {}. The last in the list wins.',
        day_words(local(timezone, first_utc)), clock_words(local(timezone, first_utc)), event_ids) AS seen,
    CASE WHEN (subject_kind, subject_id) IN (SELECT (subject_kind, subject_id) FROM relied_on)
        THEN 'Ask which of them is meant and who relies on this light: it must be lit for them. Then let a single step say so.'
        ELSE 'Ask which of them is meant and who relies on this light; keep one step for this instant.'
    END AS remedy,
    NULL AS missing
FROM conflicts
JOIN scope USING (subject_kind, subject_id)
JOIN controllers USING (controller_id)
JOIN sites USING (site_id)
ORDER BY site_id, subject_kind, subject_id
