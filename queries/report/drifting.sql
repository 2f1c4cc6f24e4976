-- Clocks that drift by more than six seconds a month, fastest first.
SELECT drifts.*, rank
FROM drifts JOIN site_ranks USING (site_id)
WHERE abs(minutes_a_month) > 0.1
ORDER BY abs(minutes_a_month) DESC, controller_id
