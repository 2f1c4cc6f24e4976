-- How long each circuit is painted in each way: whole seconds, and on how many dates.
SELECT circuit_no, paint, sum(until_s - from_s)::BIGINT AS seconds, count(DISTINCT day) AS dates
FROM (FROM picture_pieces UNION ALL BY NAME FROM picture_differences)
GROUP BY circuit_no, paint
ORDER BY circuit_no, paint
