-- The same with a right clock, for the circuits of devices whose clock is wrong.
SELECT circuit_no, epoch_us(start_utc) // 1000000 AS start_s, level,
    (CASE WHEN level >= 100 THEN 3 WHEN level > 0 THEN 2 WHEN conditional THEN 1 ELSE 0 END)::UTINYINT AS does
FROM right_clock_timeline JOIN picture_circuits USING (circuit_id)
