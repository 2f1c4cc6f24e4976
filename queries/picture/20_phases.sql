-- Every site's period in pieces within which nothing about the site changes: its date, the light, opening hours.

CREATE OR REPLACE TEMP TABLE picture_phases AS
WITH bounds AS (
    SELECT site_id, kind, epoch_us(start_utc) // 1000000 AS start_s, epoch_us(end_utc) // 1000000 AS end_s
    FROM site_spans
    WHERE kind IN ('light', 'daylight', 'open', 'closed') AND site_id IN (SELECT site_id FROM picture_sites)
), edges AS (
    SELECT site_id, kind, start_s AS at_s, 1 AS step, NULL AS day, NULL AS to_local_s FROM bounds
    UNION ALL
    SELECT site_id, kind, end_s, -1, NULL, NULL FROM bounds
    UNION ALL
    SELECT site_id, 'date', start_s, 0, day, to_local_s FROM picture_sites JOIN picture_dates USING (clock_no)
    UNION ALL
    SELECT site_id, 'end', max(end_s), 0, NULL, NULL FROM picture_sites JOIN picture_dates USING (clock_no) GROUP BY site_id
), instants AS (
    SELECT site_id, at_s, max(day) AS day, max(to_local_s) AS to_local_s,
        coalesce(sum(step::DOUBLE) FILTER (kind = 'light'), 0) AS light,
        coalesce(sum(step::DOUBLE) FILTER (kind = 'daylight'), 0) AS daylight,
        coalesce(sum(step::DOUBLE) FILTER (kind = 'open'), 0) AS open,
        coalesce(sum(step::DOUBLE) FILTER (kind = 'closed'), 0) AS closed
    FROM edges GROUP BY site_id, at_s
)
SELECT site_id, at_s AS start_s, lead(at_s) OVER w AS end_s,
    last_value(day IGNORE NULLS) OVER w AS day, last_value(to_local_s IGNORE NULLS) OVER w AS to_local_s,
    sum(light) OVER w = 0 AS dark, sum(daylight) OVER w > 0 AS daylight,
    sum(open) OVER w > 0 AS open, sum(closed) OVER w > 0 AS closed
FROM instants
WINDOW w AS (PARTITION BY site_id ORDER BY at_s ROWS UNBOUNDED PRECEDING)
QUALIFY end_s IS NOT NULL;
