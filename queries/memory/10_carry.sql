-- What an earlier store remembers comes along: all but an earlier take of this very run. Reads the store attached as
-- "earlier" and the view this_run.

INSERT INTO runs BY NAME SELECT runs.* FROM earlier.runs CROSS JOIN this_run WHERE runs.run_date <> this_run.run_date ORDER BY runs.run_date;
INSERT INTO past_findings BY NAME
SELECT past.* FROM earlier.past_findings AS past CROSS JOIN this_run WHERE past.run_date <> this_run.run_date
ORDER BY past.run_date, finding_id;
INSERT INTO past_sites BY NAME
SELECT past.* FROM earlier.past_sites AS past CROSS JOIN this_run WHERE past.run_date <> this_run.run_date
ORDER BY past.run_date, site_id;
INSERT INTO past_rules BY NAME
SELECT past.* FROM earlier.past_rules AS past CROSS JOIN this_run WHERE past.run_date <> this_run.run_date
ORDER BY past.run_date, rule;
