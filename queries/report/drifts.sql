-- Clocks of which two readings tell how fast they drift.
SELECT * FROM drifts ORDER BY controller_id
