-- A digest of all that a site's year is worked out from; $method stands for how that is done. Names, readings and
-- whatever else only rules look at may change without a change here.

INSERT INTO site_digests
WITH said AS (
    SELECT site_id, 1 AS place, 0 AS in_order, row(latitude, longitude, timezone, rate_per_kwh)::VARCHAR AS words FROM sites
    UNION ALL
    SELECT site_id, 2, 0, row(controller_id, latitude, longitude, hold, clock, residual_s)::VARCHAR
    FROM controllers JOIN device_clocks USING (controller_id) JOIN clocks USING (clock_no)
    UNION ALL
    SELECT site_id, 3, 0, row(circuit_id, controller_id, area, connected_watts, combine, circuits.hold, in_use, must_be_lit)::VARCHAR
    FROM circuits JOIN controllers USING (controller_id)
    UNION ALL
    SELECT site_id, 4, 0, row(sensor_id, controller_id, kind, circuits, in_use)::VARCHAR
    FROM sensors JOIN controllers USING (controller_id)
    UNION ALL   -- the order of steps is part of a program
    SELECT site_id, 5, row_no, row(event_id, controller_id, targets, action, level, days_mask, anchor, time_s, offset_s,
        season_from, season_until, calendar)::VARCHAR
    FROM events JOIN controllers USING (controller_id)
    UNION ALL
    SELECT site_id, 6, 0, row(days_mask, opens_s, closes_s)::VARCHAR FROM hours
    UNION ALL
    SELECT site_id, 7, 0, row(date, calendar)::VARCHAR FROM site_closures
), common AS (
    SELECT row($method, first_date, days, daylight_margin_s, hours_margin_s, staff_margin_s, rate_per_kwh)::VARCHAR AS words
    FROM period CROSS JOIN portfolio
)
SELECT site_id, md5(any_value(common.words) || string_agg(said.words, chr(10) ORDER BY place, in_order, said.words))
FROM said CROSS JOIN common
GROUP BY site_id
ORDER BY site_id;
