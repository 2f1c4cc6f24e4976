-- A row a month: its last run, and what was new and gone in all of its runs.
SELECT strftime(run_date, '%Y-%m') AS month, max(run_date) AS run_date,
    arg_max(sites, run_date) AS sites,
    arg_max(critical, run_date) AS critical, arg_max(high, run_date) AS high,
    arg_max(medium, run_date) AS medium, arg_max(low, run_date) AS low,
    arg_max(avoidable_cost, run_date) AS avoidable_cost,
    sum(new)::BIGINT AS new, sum(gone)::BIGINT AS gone,
    sum(recovered_cost) AS recovered_cost, sum(added_cost) AS added_cost
FROM runs
GROUP BY month
ORDER BY month
