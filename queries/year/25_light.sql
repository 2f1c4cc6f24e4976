-- Between sunrise and sunset, one row a solar day; where there is no crossing, from or to the lower transit.
CREATE OR REPLACE TEMP TABLE b_bright AS
WITH days AS (
    SELECT site_no, day,
        round((day + 0.5 + before_x) * 86400)::BIGINT AS before_s,
        round((day + 0.5 + after_x) * 86400)::BIGINT AS after_s
    FROM b_transits JOIN b_sites USING (place_no)
    WHERE culmination(b_sites.latitude, noon_decl) >= cosd(horizon_zenith())
)
SELECT site_no, coalesce(rise.at_s, before_s) AS start_s, coalesce(sinks.at_s, after_s) AS end_s
FROM days
LEFT JOIN b_crossings AS rise ON rise.place_no = site_no AND rise.day = days.day AND rise.kind = 'sunrise'
LEFT JOIN b_crossings AS sinks ON sinks.place_no = site_no AND sinks.day = days.day AND sinks.kind = 'sunset'
ORDER BY site_no, start_s;

-- Midnight sun: what touches is one; the same lower transit from two days differs by a second.
CREATE OR REPLACE TEMP TABLE b_light AS
WITH compared AS (    -- OVER () takes the rows as they stand in the ordered table
    SELECT *, site_no = lag(site_no) OVER () AND start_s <= lag(end_s) OVER () + 2 AS goes_on FROM b_bright
), numbered AS (
    SELECT *, sum(CASE WHEN goes_on THEN 0.0 ELSE 1.0 END) OVER (ROWS UNBOUNDED PRECEDING) AS piece FROM compared
)
SELECT site_no, min(start_s) AS start_s, max(end_s) AS end_s FROM numbered GROUP BY site_no, piece;
