-- What the batch found, into the store's own tables, with ids and instants that any client reads. All in an order of
-- its own: rows stand alike whoever asks next, be they worked out or fetched from the run before.

INSERT INTO site_days BY NAME
SELECT site_id, day_date(local_day) AS date, utc(b_dates.start_s) AS start_utc, utc(b_dates.end_s) AS end_utc
FROM b_dates JOIN b_sites USING (site_no)
WHERE audited
ORDER BY site_no, local_day;

INSERT INTO site_spans BY NAME
SELECT site_id, kind, utc(b_spans.start_s) AS start_utc, utc(b_spans.end_s) AS end_utc
FROM b_spans JOIN b_sites USING (site_no)
WHERE kind IN ('light', 'daylight', 'open', 'night', 'closed')
ORDER BY site_no, kind, b_spans.start_s, b_spans.end_s;

INSERT INTO timeline BY NAME
SELECT circuit_id, utc(start_s) AS start_utc, utc(end_s) AS end_utc, level, conditional
FROM b_states JOIN b_circuits USING (circuit_no)
ORDER BY circuit_no, start_s;

INSERT INTO exposures BY NAME
WITH pieces AS (
    SELECT circuit_no, kind, from_s, until_s, span_start_s, span_end_s, level, step_no, end_step_no
    FROM b_overlaps JOIN b_circuits USING (circuit_no)
    WHERE kind NOT IN ('closed', 'daylight-closed')
      AND (area NOT IN ('interior', 'egress', 'security') OR kind NOT IN ('daylight', 'night'))
), numbered AS (   -- another level, or off and then on for nobody, does not end a stretch
    SELECT *, sum(coalesce(from_s > reach_s, true)::INTEGER)
            OVER (PARTITION BY circuit_no, kind ORDER BY from_s ROWS UNBOUNDED PRECEDING) AS stretch
    FROM (
        SELECT *, lag(until_s) OVER (PARTITION BY circuit_no, kind ORDER BY from_s) AS reach_s
        FROM pieces WHERE kind IN ('daylight', 'duty-always', 'duty-dark', 'duty-open')
    )
), longest_closed AS (   -- of these there are too many to keep: one, to show a reader
    SELECT circuit_no, kind, from_s, until_s, span_start_s, span_end_s, level, step_no, end_step_no
    FROM b_overlaps JOIN b_circuits USING (circuit_no)
    WHERE kind = 'closed' AND area = 'interior'
    QUALIFY row_number() OVER (PARTITION BY circuit_no ORDER BY until_s - from_s DESC, from_s) = 1
), whole AS (
    SELECT circuit_no, kind, min(from_s) AS from_s, max(until_s) AS until_s,
        min(span_start_s) AS span_start_s, max(span_end_s) AS span_end_s, max(level) AS level,
        arg_min(step_no, from_s) AS step_no, arg_max(coalesce(end_step_no, 0), until_s) AS end_step_no
    FROM numbered GROUP BY circuit_no, kind, stretch
    UNION ALL
    SELECT * FROM pieces WHERE kind NOT IN ('daylight', 'duty-always', 'duty-dark', 'duty-open')
    UNION ALL
    SELECT * FROM longest_closed
)
SELECT circuit_id,
    CASE kind
        WHEN 'daylight' THEN 'lit-in-daylight'
        WHEN 'night' THEN 'lit-at-night'
        WHEN 'dark-open' THEN 'dark-while-open'
        WHEN 'dark-staff' THEN 'dark-around-closing'
        WHEN 'closed-listed' THEN 'lit-on-listed-date'
        WHEN 'closed' THEN 'lit-while-closed'
        ELSE 'duty-not-met'
    END AS kind,
    utc(from_s) AS start_utc, utc(until_s) AS end_utc,
    utc(span_start_s) AS span_start_utc, utc(span_end_s) AS span_end_utc, whole.level,
    began.event_id, ended.event_id AS end_event_id
FROM whole
JOIN b_circuits USING (circuit_no)
LEFT JOIN b_steps AS began ON began.step_no = whole.step_no
LEFT JOIN b_steps AS ended ON ended.step_no = whole.end_step_no
ORDER BY circuit_no, whole.kind, from_s, until_s, span_start_s, span_end_s;

INSERT INTO conflicts BY NAME
WITH summed AS (
    SELECT target_no, count(*) AS times, min(at_s) AS first_s, max(at_s) AS last_s FROM b_conflicts GROUP BY target_no
)
SELECT
    CASE WHEN target_no > 0 THEN 'circuit' ELSE 'sensor' END AS subject_kind,
    coalesce(any_value(circuit_id), any_value(sensor_id)) AS subject_id,
    times, utc(first_s) AS first_utc, utc(last_s) AS last_utc,
    list(event_id ORDER BY b_steps.program_order) AS event_ids
FROM summed
JOIN b_firings USING (target_no)
JOIN b_steps USING (target_no, step_no)
LEFT JOIN b_circuits ON circuit_no = target_no
LEFT JOIN b_sensors ON sensor_no = target_no
WHERE at_s = first_s
GROUP BY target_no, times, first_s, last_s
ORDER BY subject_kind, subject_id;

INSERT INTO silent_steps BY NAME
WITH fired AS (
    SELECT DISTINCT step_no
    FROM b_firings JOIN b_steps USING (target_no, step_no) JOIN b_sites USING (site_no)
    WHERE at_s >= start_s AND at_s < step_horizon_s
)
SELECT controller_id, event_id
FROM b_steps LEFT JOIN fired USING (step_no) JOIN b_controllers USING (controller_no)
GROUP BY controller_no, controller_id, event_id, program_order
HAVING count(fired.step_no) = 0
ORDER BY controller_no, program_order;

INSERT INTO sun_shifts BY NAME
WITH dated AS (      -- the dates of solar transits by the device's offset, at its set location and at the site
    SELECT controller_no, device.place_no = device_place.place_no AS own, day,
        floor_day(noon_s + clock.offset_s) AS device_day, device_place.place_no
    FROM b_controllers AS device
    JOIN b_sites AS site USING (site_no)
    JOIN (SELECT place_no, day, round((day + 0.5 + noon_x) * 86400)::BIGINT AS noon_s FROM b_transits) AS device_place
        ON device_place.place_no IN (device.place_no, site.place_no)
    JOIN clock_offsets AS clock
        ON clock.clock_no = device.clock_no AND noon_s >= clock.start_s AND noon_s < clock.end_s
    WHERE located
), events AS (
    SELECT controller_no, kind, device_day,
        min(at_s) FILTER (own) AS device_s, min(at_s) FILTER (NOT own) AS site_s
    FROM dated JOIN b_crossings USING (place_no, day)
    WHERE kind IN ('sunrise', 'sunset')
    GROUP BY controller_no, kind, device_day
)
SELECT controller_id, kind, list((device_s - site_s)::INTEGER ORDER BY device_day) AS shifts_s,
    list(day_date(device_day) ORDER BY device_day) AS dates
FROM events JOIN b_controllers USING (controller_no) CROSS JOIN period
WHERE device_day BETWEEN epoch_day(first_date) AND epoch_day(first_date) + days - 1
  AND device_s IS NOT NULL AND site_s IS NOT NULL
GROUP BY controller_no, controller_id, kind
ORDER BY controller_no, kind;

INSERT INTO suspensions BY NAME
SELECT sensor_id, utc(start_s) AS start_utc, utc(stop_s) AS end_utc, event_id
FROM b_suspensions JOIN b_sensors USING (sensor_no) JOIN b_steps USING (step_no)
ORDER BY sensor_no DESC, start_s;

INSERT INTO clock_errors BY NAME
WITH edges AS (      -- every instant at which the device's offset or the zone's may change
    SELECT controller_no, unnest([greatest(clock.start_s, site.start_s), site.end_s]) AS at_s
    FROM b_controllers AS device JOIN b_sites AS site USING (site_no)
    JOIN clock_offsets AS clock ON clock.clock_no IN (device.clock_no, site.clock_no)
    WHERE clock.start_s < site.end_s AND clock.end_s > site.start_s
), pieces AS (
    SELECT DISTINCT controller_no, at_s, lead(at_s) OVER (PARTITION BY controller_no ORDER BY at_s) AS next_s
    FROM (SELECT DISTINCT controller_no, at_s FROM edges)
), errors AS (
    SELECT controller_no, at_s, next_s, residual_s + own.offset_s - law.offset_s AS error_s
    FROM pieces
    JOIN b_controllers AS device USING (controller_no)
    JOIN b_sites AS site USING (site_no)
    JOIN clock_offsets AS own ON own.clock_no = device.clock_no AND at_s >= own.start_s AND at_s < own.end_s
    JOIN clock_offsets AS law ON law.clock_no = site.clock_no AND at_s >= law.start_s AND at_s < law.end_s
    WHERE next_s IS NOT NULL
), changed AS (
    SELECT controller_no, at_s AS start_s, error_s FROM errors
    QUALIFY error_s IS DISTINCT FROM lag(error_s) OVER (PARTITION BY controller_no ORDER BY at_s)
), stretches AS (
    SELECT controller_no, site_no, changed.start_s, error_s,
        coalesce(lead(changed.start_s) OVER (PARTITION BY controller_no ORDER BY changed.start_s), b_sites.end_s) AS end_s
    FROM changed JOIN b_controllers USING (controller_no) JOIN b_sites USING (site_no)
)
SELECT controller_id, utc(stretches.start_s) AS start_utc, utc(stretches.end_s) AS end_utc, error_s,
    count(local_day) AS whole_dates,
    day_date(min(local_day)) AS first_date, day_date(max(local_day)) AS last_date
FROM stretches
JOIN b_controllers USING (controller_no)
LEFT JOIN b_dates
    ON b_dates.site_no = stretches.site_no AND audited
    AND b_dates.start_s >= stretches.start_s AND b_dates.end_s <= stretches.end_s
GROUP BY controller_no, controller_id, stretches.start_s, stretches.end_s, error_s
ORDER BY controller_no, stretches.start_s;

INSERT INTO circuit_figures BY NAME
SELECT
    site_id, controller_id, circuit_id,
    on_s / 60 AS on_minutes, conditional_s / 60 AS conditional_minutes, daylight_s / 60 AS daylight_minutes,
    closed_s / 60 AS closed_minutes, night_s / 60 AS curfew_minutes, dark_open_s / 60 AS dark_open_minutes,
    kwh, avoidable_kwh, daylight_kwh, closed_kwh, curfew_kwh,
    site_closed_s / 60 AS site_closed_minutes, night_windows,
    coalesce(sites.rate_per_kwh, portfolio.rate_per_kwh) * kwh AS cost,
    coalesce(sites.rate_per_kwh, portfolio.rate_per_kwh) * avoidable_kwh AS avoidable_cost,
    off_after_closing_s / 60 AS off_after_closing_minutes
FROM b_figures JOIN sites USING (site_id) CROSS JOIN portfolio
ORDER BY circuit_no;
