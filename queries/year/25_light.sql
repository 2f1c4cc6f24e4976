-- Between sunrise and sunset, one row a solar day; where there is no crossing, from or to the lower transit.
CREATE OR REPLACE TEMP TABLE b_light AS
WITH days AS (
    SELECT site_no, day,
        round((day + 0.5 + before_x) * 86400)::BIGINT AS before_s,
        round((day + 0.5 + after_x) * 86400)::BIGINT AS after_s
    FROM b_transits JOIN b_sites USING (place_no)
    WHERE culmination(b_sites.latitude, noon_decl) >= cosd(horizon_zenith())
), bright AS (
    SELECT site_no, coalesce(rise.at_s, before_s) AS start_s, coalesce(sinks.at_s, after_s) AS end_s
    FROM days
    LEFT JOIN b_crossings AS rise ON rise.place_no = site_no AND rise.day = days.day AND rise.kind = 'sunrise'
    LEFT JOIN b_crossings AS sinks ON sinks.place_no = site_no AND sinks.day = days.day AND sinks.kind = 'sunset'
), numbered AS (      -- midnight sun: what touches is one; the same lower transit from two days differs by a second
    SELECT *, sum(CASE WHEN start_s <= before_end_s + 2 THEN 0 ELSE 1 END)
                OVER (PARTITION BY site_no ORDER BY start_s ROWS UNBOUNDED PRECEDING) AS piece
    FROM (SELECT *, lag(end_s) OVER (PARTITION BY site_no ORDER BY start_s) AS before_end_s FROM bright)
)
SELECT site_no, min(start_s) AS start_s, max(end_s) AS end_s FROM numbered GROUP BY site_no, piece;
