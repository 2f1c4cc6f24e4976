-- A store of before it remembered: its one run counts as the run before. Reads the store attached as "earlier".

INSERT INTO runs BY NAME
SELECT newest_read_at_utc::DATE AS run_date, first_date, days,
    (SELECT count(*) FROM earlier.sites) AS sites, (SELECT count(*) FROM earlier.circuit_figures) AS circuits,
    (SELECT count(*) FROM earlier.findings WHERE status = 'open' AND severity = 'critical') AS critical,
    (SELECT count(*) FROM earlier.findings WHERE status = 'open' AND severity = 'high') AS high,
    (SELECT count(*) FROM earlier.findings WHERE status = 'open' AND severity = 'medium') AS medium,
    (SELECT count(*) FROM earlier.findings WHERE status = 'open' AND severity = 'low') AS low,
    (SELECT sum(avoidable_cost::DECIMAL(24, 6))::DOUBLE FROM earlier.site_ranks) AS avoidable_cost
FROM earlier.period CROSS JOIN this_run
WHERE newest_read_at_utc::DATE <> this_run.run_date;

INSERT INTO past_findings BY NAME
SELECT run_date, finding_id, rule, severity, status, site_id, controller_id, subject_kind, subject_id, summary, cost,
    first_seen, 1 AS runs_seen, last_date
FROM earlier.findings CROSS JOIN runs
ORDER BY finding_id;

INSERT INTO past_sites BY NAME
SELECT run_date, site_id, name, region FROM earlier.sites CROSS JOIN runs ORDER BY site_id;

INSERT INTO past_circuits BY NAME
SELECT run_date, circuit_id, figures.avoidable_kwh * 365 / days AS avoidable_kwh
FROM earlier.circuit_figures AS figures CROSS JOIN runs
ORDER BY circuit_id;
