-- When a circuit is off and people are on their way; where a duty asks for light that is said instead.
SELECT circuit_no, epoch_us(start_utc) // 1000000 AS start_s, epoch_us(end_utc) // 1000000 AS end_s
FROM exposures JOIN picture_circuits USING (circuit_id)
WHERE kind = 'dark-around-closing' AND coalesce(must_be_lit, 'open') = 'open'
    AND seconds(start_utc, end_utc) > 60 * threshold('dark-around-closing', 'stretch_minutes')
