-- The figures and readings that an earlier store remembers come along, too: from layout 3 on. Reads the store attached
-- as "earlier" and the view this_run.

INSERT INTO past_circuits BY NAME
SELECT past.* FROM earlier.past_circuits AS past CROSS JOIN this_run WHERE past.run_date <> this_run.run_date
ORDER BY past.run_date, circuit_id;
INSERT INTO past_readings BY NAME
SELECT past.* FROM earlier.past_readings AS past CROSS JOIN this_run
WHERE coalesce(past.run_date, past.read_at_utc::DATE) <> this_run.run_date
ORDER BY past.controller_id, past.read_at_utc;
