-- What the circuits of wrong clocks would do; the other circuits of their sites do what the timeline says.

INSERT INTO right_clock_timeline BY NAME
SELECT circuit_id, utc(start_s) AS start_utc, utc(end_s) AS end_utc, level, conditional
FROM b_states JOIN b_circuits USING (circuit_no)
ORDER BY circuit_no, start_s;
