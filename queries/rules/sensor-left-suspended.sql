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
), suspending AS (
    SELECT controller_id, event_id, sourced AS suspending_step, season_from IS NULL AND calendar IS NULL AS seasonless,
        anchor IN ('sunset', 'dusk') OR anchor = 'clock' AND time_s >= 43200 AS in_the_evening, days_mask AS suspending_days
    FROM events JOIN step_words USING (controller_id, event_id)
    WHERE action = 'suspend'
), totals AS (
    SELECT sensor_id, count(*) AS times, sum(seconds(start_utc, end_utc)) / 60 AS out_minutes,
        min(start_utc) AS first_utc, max(end_utc) AS last_utc,
        arg_max({'starts': start_utc, 'event_id': event_id}, (seconds(start_utc, end_utc), -epoch(start_utc))) AS longest,
        max(seconds(start_utc, end_utc)) / 60 AS longest_minutes
    FROM suspensions
    WHERE seconds(start_utc, end_utc) > $suspended_hours * 3600
    GROUP BY sensor_id
), resuming AS (  -- the steps that bring it back, and the days that they leave out
    SELECT sensor_id, string_agg(sourced, '; ' ORDER BY events.row_no) AS steps,
        arg_min(words, events.row_no) AS first_step,
        any_value(days_mask) AS days_mask, count(*) AS number, any_value(season_from IS NULL AND calendar IS NULL) AS all_year,
        bool_and(anchor IN ('sunrise', 'dawn') OR anchor = 'clock' AND time_s < 43200) AS in_the_morning
    FROM scope JOIN events USING (controller_id) JOIN step_words USING (controller_id, event_id)
    WHERE action = 'resume' AND list_contains(targets, sensor_id)
    GROUP BY sensor_id
), worked AS (     -- a step before the suspending time of day brings it back on the next day
    SELECT *, local(timezone, longest.starts) AS suspended_from,
        CASE WHEN in_the_evening AND in_the_morning THEN ((suspending_days << 1) & 127) | (suspending_days >> 6)
             ELSE suspending_days END AS needed_days,
        CASE WHEN number = 1 AND seasonless THEN needed_days & (127 - days_mask) END AS missing_mask
    FROM totals JOIN scope USING (sensor_id) LEFT JOIN switched USING (sensor_id) LEFT JOIN resuming USING (sensor_id)
    LEFT JOIN suspending ON suspending.controller_id = scope.controller_id AND suspending.event_id = longest.event_id
)
SELECT site_id, 'sensor' AS subject_kind, sensor_id AS subject_id,
    CASE WHEN alone THEN 'critical' END AS severity,
    out_minutes AS minutes, NULL AS kwh,
    local(timezone, first_utc)::DATE AS first_date, last_day(timezone, last_utc) AS last_date,
    format('Programmed out of service for {}{}.', minutes_words(out_minutes),
        CASE WHEN times > 1 THEN format(' in {:d} stretches of more than {:d} h', times, $suspended_hours::BIGINT) ELSE '' END) AS summary,
    format('On {} at {}{} {} suspends it, and it is not brought back for {}. {}',
        day_words(suspended_from), clock_words(suspended_from), device_words(controller_id, longest.starts, suspended_from),
        suspending_step, minutes_words(longest_minutes),
        coalesce('Brought back by ' || steps || '.', 'No step brings it back.')) AS seen,
    CASE WHEN sensor_id IN (SELECT subject_id FROM relied_on WHERE subject_kind = 'sensor')
        THEN 'Find out who relies on this light, and check that it stays lit for them when the sensor decides again. '
             || 'Then end the suspension: every suspend step needs its resume step after it (a photocontrol: '
                || 'at sunrise at the latest).'
        ELSE 'Bring the sensor back into service, and give every suspend step a resume step after it (a '
             || 'photocontrol: at '
            || 'sunrise at the latest). '
            || CASE WHEN missing_mask > 0 THEN format('Here {} leaves out {}. ', first_step, days_words(missing_mask))
                    WHEN number = 1 AND seasonless AND NOT all_year THEN format('Here {} runs on some dates only. ', first_step)
                    ELSE '' END
            || CASE kind WHEN 'photocontrol' THEN 'Then watch one dusk.' ELSE 'Then walk past it once.' END
    END AS remedy,
    NULL AS missing
FROM worked
ORDER BY site_id, subject_id
