-- Sunrise, sunset, opening, closing and the edges of the night window at each site, by local date and minute. What is
-- cut off by the period's edge is no edge. Closing at midnight belongs to the date that ends.
WITH spans AS (
    SELECT site_id, clock_no, kind, epoch_us(start_utc) // 1000000 AS start_s, epoch_us(end_utc) // 1000000 AS end_s
    FROM site_spans JOIN picture_sites USING (site_id) WHERE kind IN ('light', 'open', 'night')
), edges AS (
    SELECT site_id, clock_no, start_s AS at_s, start_s AS looked_s,
        CASE kind WHEN 'light' THEN 'sunrise' WHEN 'open' THEN 'opens' ELSE 'night-begins' END AS line
    FROM spans
    UNION ALL
    SELECT site_id, clock_no, end_s, end_s - 1,
        CASE kind WHEN 'light' THEN 'sunset' WHEN 'open' THEN 'closes' ELSE 'night-ends' END
    FROM spans
), periods AS (
    SELECT clock_no, min(start_s) AS first_s, max(end_s) AS last_s FROM picture_dates GROUP BY clock_no
)
SELECT site_id, line, day, round((at_s + to_local_s) / 60)::INTEGER AS minute
FROM edges
ASOF JOIN picture_dates AS dates ON dates.clock_no = edges.clock_no AND dates.start_s <= edges.looked_s
JOIN periods ON periods.clock_no = edges.clock_no
WHERE at_s > first_s AND at_s < last_s
ORDER BY site_id, line, at_s
