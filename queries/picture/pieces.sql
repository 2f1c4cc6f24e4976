-- What is painted, circuit by circuit in the order of time: the year, and where a wrong clock tells. Minutes of the
-- local day, rounded for drawing alone.
SELECT circuit_no, differs, day, paint, level,
    round((from_s + to_local_s) / 60)::INTEGER AS from_minute, round((until_s + to_local_s) / 60)::INTEGER AS until_minute
FROM (
    SELECT *, false AS differs FROM picture_pieces
    UNION ALL BY NAME
    SELECT *, true AS differs FROM picture_differences
)
WHERE from_minute < until_minute
ORDER BY circuit_no, differs, from_s
