-- Where the device's wrong clock tells, in the order of time; minutes of the local day.
SELECT circuit_no, day, paint, level,
    round((from_s + to_local_s) / 60)::INTEGER AS from_minute, round((until_s + to_local_s) / 60)::INTEGER AS until_minute
FROM picture_differences
WHERE from_minute < until_minute
ORDER BY circuit_no, from_s
