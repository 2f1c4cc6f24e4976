-- One row: what a run comes to, for a mail.
WITH found AS (
    SELECT count(*) FILTER (severity = 'critical') AS critical, count(*) FILTER (severity = 'high') AS high,
        count(*) FILTER (severity = 'medium') AS medium, count(*) FILTER (severity = 'low') AS low,
        count(*) FILTER (fix = 'remote') AS from_desk,
        count(*) FILTER (severity = 'critical' AND finding_id NOT IN (SELECT finding_id FROM answers)) AS unanswered
    FROM findings WHERE status = 'open'
), done AS (
    SELECT count(DISTINCT finding_id) AS still_there FROM answers WHERE contradicted
), ahead AS (
    SELECT count(*) AS soon, min(date) AS soon_first FROM soon
), places AS (
    SELECT count(*) AS sites, count(*) FILTER (visit_needed) AS visits,
        sum(avoidable_cost::DECIMAL(24, 6))::DOUBLE AS avoidable_cost
    FROM site_ranks
), kept AS (     -- nothing without a store
    SELECT any_value(new) AS new, any_value(gone) AS gone, any_value(recovered_cost) AS recovered_cost,
        any_value(added_cost) AS added_cost,
        (SELECT max(run_date) FROM runs CROSS JOIN period WHERE run_date < newest_read_at_utc::DATE) AS run_before
    FROM runs JOIN period ON run_date = newest_read_at_utc::DATE
)
SELECT portfolio.name AS portfolio, newest_read_at_utc::DATE AS run_date,
    first_date, (first_date + days - 1)::DATE AS last_date,
    places.*, (SELECT count(*) FROM circuit_figures) AS circuits,
    found.*, done.*, ahead.*, kept.*,
    (SELECT count(DISTINCT (source_file, source_row)) FROM rejected) AS rejected,
    (SELECT count(*) FROM not_evaluated) AS not_judged,
    (SELECT count(*) FROM missing_sites) AS missing_sites
FROM period, portfolio, places, found, done, ahead, kept
