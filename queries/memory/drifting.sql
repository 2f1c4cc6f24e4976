-- Clocks that drift by more than six seconds a month, fastest first.
SELECT * FROM drifts
WHERE abs(minutes_a_month) > 0.1
ORDER BY abs(minutes_a_month) DESC, controller_id
