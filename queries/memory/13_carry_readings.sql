-- The same of a store of layout 2: it does not say which run saw a reading first, nor the energy behind its money, so
-- that no saving is told against it. Reads the store attached as "earlier" and the view this_run.

INSERT INTO past_readings BY NAME
SELECT past.* FROM earlier.past_readings AS past CROSS JOIN this_run
WHERE past.read_at_utc::DATE <> this_run.run_date
ORDER BY past.controller_id, past.read_at_utc;
