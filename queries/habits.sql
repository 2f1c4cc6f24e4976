-- What this portfolio's circuits usually do, for findings to go by: the steps in words, and when circuits of an area go
-- off and come on. After the year, before the rules.

INSERT INTO step_words BY NAME
WITH told AS (
    SELECT *, format('{} {}, {}{}', action_words(action, level), anchor_words(anchor, time_s, offset_s),
        when_words(days_mask, season_from, season_until),
        coalesce(', on dates of calendar ' || calendar, '')) AS what
    FROM events
)
SELECT controller_id, event_id,
    format('step {} ({})', event_id, what) AS words,
    format('step {} ({}; {} row {})', event_id, what, source_file, source_row) AS sourced
FROM told
ORDER BY row_no;

INSERT INTO circuit_anchors BY NAME
WITH moved AS (
    SELECT unnest(targets) AS target_id, anchor FROM events
), acting AS (
    SELECT target_id AS circuit_id, anchor FROM moved
    UNION ALL
    SELECT circuit_id, anchor FROM moved JOIN (SELECT sensor_id, unnest(circuits) AS circuit_id FROM sensors) ON sensor_id = target_id
)
SELECT circuit_id, bool_or(anchor = 'clock') AS by_clock, bool_or(anchor <> 'clock') AS by_sun, any_value(residual_s) AS residual_s
FROM acting JOIN circuits USING (circuit_id) JOIN device_clocks USING (controller_id)
GROUP BY circuit_id
ORDER BY circuit_id;

-- When circuits whose light nobody has a duty to keep go off or are set back in the evening: after closing, or at a time
-- of day.
INSERT INTO off_habits BY NAME
WITH free AS (
    SELECT circuit_id, area FROM circuits JOIN controllers USING (controller_id)
    WHERE coalesce(in_use, true) AND coalesce(circuits.hold, controllers.hold) IS NULL
      AND area NOT IN ('egress', 'security') AND must_be_lit IS NULL
), closing_offs AS (
    SELECT area, round(off_after_closing_minutes / 5) * 5 AS after_minutes
    FROM circuit_figures JOIN free USING (circuit_id)
    WHERE off_after_closing_minutes IS NOT NULL
), clock_offs AS (
    SELECT DISTINCT area, circuit_id,
        format('go {} {}', action_words(action, level), anchor_words(anchor, time_s, offset_s)) AS manner
    FROM (SELECT *, unnest(targets) AS circuit_id FROM events) AS events JOIN free USING (circuit_id)
    WHERE (action = 'off' OR action = 'level' AND level <= 70) AND anchor = 'clock' AND calendar IS NULL
      AND (time_s >= 61200 OR time_s < 10800)   -- from 17:00 to 03:00: not an off in the morning
), typical AS (
    SELECT area, count(*) AS circuits, quantile_disc(after_minutes, 0.5) AS half_minutes
    FROM closing_offs GROUP BY area
), by_closing AS (
    SELECT area, arg_max(after_minutes, (same, -after_minutes)) AS after_minutes, max(same) AS same
    FROM (SELECT area, after_minutes, count(*) AS same FROM closing_offs GROUP BY area, after_minutes)
    GROUP BY area
), by_clock AS (
    SELECT area, arg_max(manner, (same, manner)) AS manner, max(same) AS same
    FROM (SELECT area, manner, count(*) AS same FROM clock_offs GROUP BY area, manner)
    GROUP BY area
), sizes AS (
    SELECT area, count(*) AS circuits FROM free GROUP BY area
)
SELECT area, sizes.circuits, typical.circuits AS circuits_with_hours,
    half_minutes, after_minutes, by_closing.same AS after_same, manner, by_clock.same AS manner_same
FROM sizes LEFT JOIN typical USING (area) LEFT JOIN by_closing USING (area) LEFT JOIN by_clock USING (area)
ORDER BY area;

INSERT INTO on_habits BY NAME
WITH program AS (
    SELECT circuit_id, arg_min(anchor_words(anchor, time_s, round(offset_s / 300) * 300), events.row_no)
        FILTER (anchor <> 'clock' AND calendar IS NULL AND action <> 'off') AS by_sun
    FROM (SELECT *, unnest(targets) AS circuit_id FROM events WHERE action IN ('on', 'off', 'level')) AS events
    GROUP BY circuit_id
), sensed AS (
    SELECT DISTINCT unnest(circuits) AS circuit_id FROM sensors WHERE kind = 'photocontrol' AND coalesce(in_use, true)
), manners AS (
    SELECT area, CASE WHEN circuit_id IN (SELECT circuit_id FROM sensed) THEN 'by a photocontrol' ELSE by_sun END AS manner
    FROM circuits LEFT JOIN program USING (circuit_id)
    WHERE coalesce(in_use, true) AND area <> 'interior'
), counted AS (
    SELECT area, manner, count(*) AS same FROM manners WHERE manner IS NOT NULL GROUP BY area, manner
), sizes AS (
    SELECT area, count(*) AS circuits FROM manners GROUP BY area
)
SELECT area, any_value(circuits) AS circuits, max(same) AS same, arg_max(manner, (same, manner)) AS manner
FROM counted JOIN sizes USING (area)
GROUP BY area
ORDER BY area;

-- The same as sentences, with the times that they come to at each site. Five circuits make a habit; a third of them that
-- do the same are worth telling, else where the middle lies. Nothing is told to a circuit that does the same already.
INSERT INTO peer_words BY NAME
WITH chosen AS (
    SELECT area, circuits, circuits_with_hours, manner, manner_same, after_same,
        coalesce(manner_same, 0) > coalesce(after_same, 0) AND manner_same * 3 >= circuits AS by_clock,
        NOT by_clock AND after_same * 3 >= circuits_with_hours AS agree,
        CASE WHEN agree THEN after_minutes ELSE half_minutes END AS minutes
    FROM off_habits WHERE circuits >= 5
), last_closings AS (   -- of a weekday with several openings the last closing counts; who opens at once again never closes
    SELECT site_id, place, max(closes_s + CASE WHEN closes_s <= opens_s THEN 86400 ELSE 0 END) AS closes_s
    FROM (SELECT *, unnest(range(7)) AS place FROM hours)
    WHERE (days_mask >> place) & 1 = 1 AND NOT (opens_s = 0 AND closes_s >= 86400)
    GROUP BY site_id, place
), delays AS (
    SELECT NULL AS area, 0 AS delay_s
    UNION ALL
    SELECT area, (minutes * 60)::BIGINT FROM chosen WHERE NOT by_clock AND minutes BETWEEN 0 AND 360
), closing_times AS (
    SELECT site_id, area, closes_s + delay_s AS off_s, sum(1 << place)::BIGINT AS days_mask, min(place) AS first_place
    FROM last_closings CROSS JOIN delays
    GROUP BY site_id, area, off_s
), told_times AS (
    SELECT site_id, area, string_agg(day_time_words(off_s % 86400)
        || CASE WHEN off_s > 86400 THEN ' the next day' ELSE '' END
        || CASE WHEN days_mask = 127 THEN '' ELSE ' (' || days_words(days_mask) || ')' END, ', '
        ORDER BY first_place) AS times
    FROM closing_times GROUP BY site_id, area
), own_offs AS (
    SELECT DISTINCT unnest(targets) AS circuit_id, format('go {} {}', action_words(action, level),
        anchor_words(anchor, time_s, offset_s)) AS manner
    FROM events WHERE calendar IS NULL
), scope AS (
    SELECT circuits.circuit_id, circuits.area, site_id, off_after_closing_minutes, site_id IN (SELECT site_id FROM hours) AS hours_known,
        (circuits.circuit_id, chosen.manner) IN (SELECT (circuit_id, manner) FROM own_offs) AS same_clock,
        round(off_after_closing_minutes / 5) * 5 = minutes AS same_delay,
        chosen.* EXCLUDE (area), closing.times AS closing_words, delayed.times
    FROM circuits
    JOIN controllers USING (controller_id)
    LEFT JOIN circuit_figures USING (site_id, controller_id, circuit_id)
    LEFT JOIN chosen ON chosen.area = circuits.area
    LEFT JOIN told_times AS closing USING (site_id)
    LEFT JOIN told_times AS delayed ON delayed.site_id = controllers.site_id AND delayed.area = circuits.area
    WHERE coalesce(in_use, true) AND closing.area IS NULL
)
SELECT circuit_id, closing_words,
    CASE
        WHEN hours_known AND closing_words IS NULL THEN NULL   -- it never closes
        WHEN by_clock AND NOT same_clock THEN format('{:d} of {:d} {} circuits in this portfolio {}{}', manner_same, scope.circuits,
            scope.area, scope.manner, CASE WHEN closing_words IS NULL THEN '' ELSE '; this site closes at ' || closing_words END)
        WHEN NOT by_clock AND minutes BETWEEN 0 AND 360 AND NOT coalesce(same_delay, false)
        THEN format('{} {} circuits in this portfolio go off {}{}',
            CASE WHEN agree THEN format('{:d} of {:d}', after_same, circuits_with_hours)
                 ELSE format('half of the {:d}', circuits_with_hours) END,
            scope.area,
            CASE WHEN NOT agree THEN 'no later than ' ELSE '' END
                || CASE WHEN minutes > 0 THEN minutes_words(minutes) || ' after closing' ELSE 'at closing' END,
            coalesce(', which here is ' || times, ''))
    END AS off_words,
    CASE WHEN on_habits.circuits >= 5 AND on_habits.same * 3 >= on_habits.circuits
        THEN format('{:d} of {:d} {} circuits in this portfolio come on {}', on_habits.same, on_habits.circuits,
            scope.area, on_habits.manner)
    END AS on_words
FROM scope
LEFT JOIN on_habits ON on_habits.area = scope.area
ORDER BY circuit_id;
