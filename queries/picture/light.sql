-- When it is light at each site, in the order of time; minutes of the local day.
WITH numbered AS (
    SELECT *, sum(CASE WHEN start_s = reach_s THEN 0 ELSE 1 END)
                OVER (PARTITION BY site_id ORDER BY start_s ROWS UNBOUNDED PRECEDING) AS piece
    FROM (
        SELECT *, lag(end_s) OVER (PARTITION BY site_id, day, to_local_s ORDER BY start_s) AS reach_s
        FROM picture_phases WHERE NOT dark
    )
), pieces AS (
    SELECT site_id, day, to_local_s, min(start_s) AS from_s, max(end_s) AS until_s
    FROM numbered GROUP BY site_id, piece, day, to_local_s
)
SELECT site_id, day,
    round((from_s + to_local_s) / 60)::INTEGER AS from_minute, round((until_s + to_local_s) / 60)::INTEGER AS until_minute
FROM pieces
ORDER BY site_id, from_s
