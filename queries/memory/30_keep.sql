-- This run, for the next ones to look back on. Energy of circuits, and what findings rest on, are kept of
-- two runs only.

INSERT INTO past_findings BY NAME
SELECT this_run.run_date, finding_id, rule, severity, status, site_id, controller_id, subject_kind, subject_id, summary, cost,
    first_seen, coalesce(before.runs_seen, 0) + 1 AS runs_seen, last_date, facts
FROM findings
CROSS JOIN this_run
LEFT JOIN grounds USING (finding_id)
LEFT JOIN (SELECT finding_id, runs_seen FROM past_findings JOIN run_before USING (run_date)) AS before USING (finding_id)
ORDER BY finding_id;
INSERT INTO past_findings BY NAME
SELECT this_run.run_date, earlier.* EXCLUDE (run_date) REPLACE ('unseen' AS status)
FROM earlier JOIN unlooked USING (finding_id) CROSS JOIN this_run
ORDER BY finding_id;
UPDATE past_findings SET facts = NULL FROM this_run
WHERE past_findings.run_date <> this_run.run_date AND past_findings.run_date NOT IN (SELECT run_date FROM run_before);

INSERT INTO past_sites BY NAME
SELECT run_date, site_id, name, region FROM sites CROSS JOIN this_run ORDER BY site_id;

INSERT INTO past_rules BY NAME
SELECT run_date, rule, settings FROM rule_settings CROSS JOIN this_run ORDER BY rule;

DELETE FROM past_circuits WHERE run_date NOT IN (SELECT run_date FROM run_before);
INSERT INTO past_circuits BY NAME
WITH days AS (
    SELECT site_id, string_agg(concat_ws('|', days_mask, opens_s, closes_s), ';' ORDER BY days_mask, opens_s, closes_s) AS days
    FROM hours GROUP BY site_id
)
SELECT run_date, circuit_id, avoidable_kwh * 365 / period.days AS avoidable_kwh,
    md5(concat_ws('/', area, must_be_lit, connected_watts, latitude, longitude, timezone, days.days)) AS told
FROM circuit_figures AS figures
JOIN circuits USING (circuit_id)
JOIN sites ON sites.site_id = figures.site_id
LEFT JOIN days ON days.site_id = figures.site_id
CROSS JOIN this_run CROSS JOIN period
WHERE avoidable_kwh IS NOT NULL
ORDER BY circuit_id;

INSERT INTO past_readings BY NAME
SELECT run_date, controller_id, site_id, read_at_utc, residual_s, second(clock_reading_local) = 0 AS to_the_minute
FROM controllers JOIN device_clocks USING (controller_id) CROSS JOIN this_run
WHERE clock_reading_local IS NOT NULL AND (controller_id, read_at_utc) NOT IN (SELECT (controller_id, read_at_utc) FROM past_readings)
ORDER BY controller_id;

-- Money that went away or came: kWh at today's rate. The calendar alone moves a circuit by a little from month to month:
-- less than 2 % is no news. Where area, duty, load, place or opening hours were written otherwise, nothing was saved by that.
-- Periods of another length, or of less than a year, are not compared: seasons differ.
INSERT INTO runs BY NAME
WITH moved AS (
    SELECT (now.avoidable_kwh - earlier.avoidable_kwh) * coalesce(sites.rate_per_kwh, portfolio.rate_per_kwh) AS moved_cost,
        greatest(now.avoidable_kwh, earlier.avoidable_kwh) * coalesce(sites.rate_per_kwh, portfolio.rate_per_kwh) AS most
    FROM past_circuits AS now
    JOIN this_run USING (run_date)
    JOIN (SELECT past_circuits.* FROM past_circuits JOIN run_before USING (run_date)) AS earlier
        ON earlier.circuit_id = now.circuit_id AND earlier.told = now.told
    JOIN circuits ON circuits.circuit_id = now.circuit_id
    JOIN controllers USING (controller_id)
    JOIN sites USING (site_id)
    CROSS JOIN portfolio
), comparable AS (
    SELECT bool_and(runs.days = period.days AND period.days >= 360) AS same_length
    FROM runs JOIN run_before USING (run_date) CROSS JOIN period
), money AS (
    SELECT sum(-moved_cost::DECIMAL(24, 6)) FILTER (moved_cost < -0.02 * most)::DOUBLE AS recovered_cost,
        sum(moved_cost::DECIMAL(24, 6)) FILTER (moved_cost > 0.02 * most)::DOUBLE AS added_cost
    FROM moved
), counted AS (
    SELECT count(*) FILTER (severity = 'critical') AS critical, count(*) FILTER (severity = 'high') AS high,
        count(*) FILTER (severity = 'medium') AS medium, count(*) FILTER (severity = 'low') AS low
    FROM findings WHERE status = 'open'
), told AS (
    SELECT count(*) FILTER (change = 'new') AS new, count(*) FILTER (change = 'persisting') AS persisting,
        count(*) FILTER (change = 'gone' AND was = 'open') AS gone
    FROM changes
)
SELECT this_run.run_date, first_date, days,
    (SELECT count(*) FROM sites) AS sites, (SELECT count(*) FROM circuit_figures) AS circuits,
    critical, high, medium, low,
    (SELECT sum(avoidable_cost::DECIMAL(24, 6))::DOUBLE FROM site_ranks) AS avoidable_cost,
    CASE WHEN run_before.run_date IS NOT NULL THEN new END AS new,
    CASE WHEN run_before.run_date IS NOT NULL THEN persisting END AS persisting,
    CASE WHEN run_before.run_date IS NOT NULL THEN gone END AS gone,
    CASE WHEN same_length THEN coalesce(recovered_cost, 0) END AS recovered_cost,
    CASE WHEN same_length THEN coalesce(added_cost, 0) END AS added_cost
FROM this_run LEFT JOIN run_before ON true CROSS JOIN period CROSS JOIN counted CROSS JOIN told CROSS JOIN money CROSS JOIN comparable;
