--: name = "sensor-left-suspended"
--: title = "Sensor left out of service"
--: severity = "high"
--: subject = "sensor"
--: needs = []
--: fix = "device"
--: params.suspended_hours = { default = 24, unit = "h", meaning = "a longer suspension is a finding" }
--
-- What goes wrong. A photocontrol is put out of service for the small hours, for an event or for a test, and the step
-- that brings it back is missing, bound to a date long past, or to weekdays that do not follow.
-- Why it matters. What the photocontrol switched stays dark at dusk, or, in series, burns by day. Where the sensor is
-- all that switches an exterior or security circuit, nobody else turns the light on.
-- On site. Look for a bypass or a disabled input first; cover the photocontrol and wait for its delay.
-- What good looks like. Every suspend step has its resume on the same days, at sunrise at the latest.
-- Source: common practice, no source.

WITH scope AS (
    SELECT * FROM sensors JOIN controllers USING (controller_id) JOIN sites USING (site_id)
    WHERE coalesce(in_use, true)
), switched AS (   -- what it acts on, and whether anything else switches that
    SELECT sensor_id, bool_or(area <> 'interior' AND circuit_id NOT IN (
        SELECT unnest(targets) FROM events WHERE action IN ('on', 'off', 'level')
    )) AS alone
    FROM (SELECT sensor_id, unnest(circuits) AS circuit_id FROM scope)
    JOIN circuits USING (circuit_id)
    WHERE coalesce(in_use, true)
    GROUP BY sensor_id
), totals AS (
    SELECT sensor_id, count(*) AS times, sum(seconds(start_utc, end_utc)) / 60 AS out_minutes,
        min(start_utc) AS first_utc, max(end_utc) AS last_utc,
        arg_max(start_utc, seconds(start_utc, end_utc)) AS longest_start_utc,
        max(seconds(start_utc, end_utc)) / 60 AS longest_minutes
    FROM suspensions
    WHERE seconds(start_utc, end_utc) > $suspended_hours * 3600
    GROUP BY sensor_id
)
SELECT site_id, 'sensor' AS subject_kind, sensor_id AS subject_id,
    CASE WHEN alone THEN 'critical' END AS severity,
    out_minutes AS minutes, NULL AS kwh,
    local(timezone, first_utc)::DATE AS first_date, last_day(timezone, last_utc) AS last_date,
    format('Programmed out of service for {}{}.', minutes_words(out_minutes),
        CASE WHEN times > 1 THEN format(' in {:d} stretches of more than {:d} h', times, $suspended_hours::BIGINT) ELSE '' END) AS summary,
    format('Suspended on {} at {}, and not brought back for {}.',
        day_words(local(timezone, longest_start_utc)), clock_words(local(timezone, longest_start_utc)),
        minutes_words(longest_minutes)) AS seen,
    CASE WHEN sensor_id IN (SELECT subject_id FROM relied_on WHERE subject_kind = 'sensor')
        THEN 'Find out who relies on this light, and check that it stays lit for them when the sensor decides again. Then end the suspension: every suspend step needs its resume step on the same days (a photocontrol: at sunrise at the latest).'
        ELSE 'Bring the sensor back into service, and give every suspend step a resume step on the same days (a photocontrol: at sunrise at the latest). Then watch one dusk.'
    END AS remedy,
    NULL AS missing
FROM totals JOIN scope USING (sensor_id) LEFT JOIN switched USING (sensor_id)
ORDER BY site_id, subject_id
