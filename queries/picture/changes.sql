-- When clocks change: local time by the law of the site, and what each device shows against it.
-- moved_s: by how much the law moves local time, NULL where only the device changes. error_before_s and error_after_s:
-- what the device shows minus local time, NULL where that stays as it was.
WITH law AS (
    SELECT clock_no, start_s AS at_s, offset_s - lag(offset_s) OVER (PARTITION BY clock_no ORDER BY start_s) AS moved_s
    FROM clock_offsets
), errors AS (
    SELECT controller_id, epoch_us(start_utc) // 1000000 AS at_s, error_s AS error_after_s,
        lag(error_s) OVER (PARTITION BY controller_id ORDER BY start_utc) AS error_before_s
    FROM clock_errors
), devices AS (
    SELECT DISTINCT controller_id, clock_no FROM picture_circuits
), instants AS (
    SELECT controller_id, clock_no, at_s FROM devices JOIN law USING (clock_no)
    UNION
    SELECT controller_id, clock_no, at_s FROM devices JOIN errors USING (controller_id)
), changes AS (
    SELECT controller_id, clock_no, at_s, moved_s, error_before_s, error_after_s
    FROM instants
    LEFT JOIN law USING (clock_no, at_s)
    LEFT JOIN errors USING (controller_id, at_s)
    WHERE moved_s <> 0 OR error_before_s IS NOT NULL
)
SELECT controller_id, day, moved_s, error_before_s, error_after_s,
    round((at_s + to_local_s) / 60)::INTEGER AS minute
FROM changes
ASOF JOIN picture_dates AS dates ON dates.clock_no = changes.clock_no AND dates.start_s <= changes.at_s
JOIN (SELECT clock_no, min(start_s) AS first_s, max(end_s) AS last_s FROM picture_dates GROUP BY clock_no) AS periods
    ON periods.clock_no = changes.clock_no
WHERE at_s > first_s AND at_s < last_s
ORDER BY controller_id, at_s
