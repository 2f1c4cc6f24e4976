-- What each circuit does from when on. does: 0 off, 1 conditional, 2 below full level, 3 full.
SELECT circuit_no, epoch_us(start_utc) // 1000000 AS start_s, level,
    (CASE WHEN level >= 100 THEN 3 WHEN level > 0 THEN 2 WHEN conditional THEN 1 ELSE 0 END)::UTINYINT AS does
FROM timeline JOIN picture_circuits USING (circuit_id)
