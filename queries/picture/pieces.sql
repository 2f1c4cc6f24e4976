-- What is painted, in the order of time; minutes of the local day, rounded for drawing alone.
SELECT circuit_no, day, paint, level,
    round((from_s + to_local_s) / 60)::INTEGER AS from_minute, round((until_s + to_local_s) / 60)::INTEGER AS until_minute
FROM picture_pieces
WHERE from_minute < until_minute
ORDER BY circuit_no, from_s
