-- One row: what was audited, how complete it was, and what it comes to.
WITH places AS (
    SELECT count(*) AS sites,
        count(*) FILTER (site_id NOT IN (SELECT site_id FROM hours)) AS sites_without_hours,
        count(*) FILTER (site_id NOT IN (SELECT site_id FROM controllers)) AS sites_without_device,
        count(*) FILTER (timezone_looked_up) AS zones_looked_up,
        count(*) FILTER (coalesce(sites.rate_per_kwh, portfolio.rate_per_kwh) IS NULL) AS sites_without_rate
    FROM sites CROSS JOIN portfolio
), devices AS (
    SELECT count(*) AS controllers,
        count(*) FILTER (clock_reading_local IS NULL) AS devices_without_reading,
        min(read_at_utc) AS first_read_utc, max(read_at_utc) AS last_read_utc
    FROM controllers
), loads AS (
    SELECT count(*) FILTER (coalesce(in_use, true)) AS circuits,
        count(*) FILTER (NOT in_use) AS circuits_out_of_use,
        count(*) FILTER (coalesce(in_use, true) AND connected_watts IS NULL) AS circuits_without_watts
    FROM circuits
), energy AS (
    SELECT sum(kwh::DECIMAL(24, 6))::DOUBLE AS kwh,
        count(avoidable_kwh) AS circuits_with_avoidable
    FROM circuit_figures
), saving AS (
    SELECT sum(avoidable_kwh::DECIMAL(24, 6))::DOUBLE AS avoidable_kwh,
        sum(avoidable_cost::DECIMAL(24, 6))::DOUBLE AS avoidable_cost,
        count(*) FILTER (visit_needed) AS visits
    FROM site_ranks
), quiet AS (       -- money a year at circuits that have no open finding of their own
    SELECT (sum(avoidable_cost::DECIMAL(24, 6)) * 365)::DOUBLE / any_value(days) AS avoidable_cost_quiet
    FROM circuit_figures CROSS JOIN period
    WHERE circuit_id NOT IN (SELECT subject_id FROM findings WHERE subject_kind = 'circuit' AND status = 'open')
), found AS (
    SELECT count(*) FILTER (status = 'open') AS open,
        count(*) FILTER (status = 'waived') AS waived,
        count(*) FILTER (status = 'exempt') AS exempt,
        count(*) FILTER (status = 'open' AND severity = 'critical') AS critical,
        count(*) FILTER (status = 'open' AND severity = 'critical'
            AND rule IN ('dark-while-open', 'duty-not-met', 'sensor-left-suspended')) AS critical_dark,
        count(*) FILTER (status = 'open' AND severity = 'high') AS high,
        count(*) FILTER (status = 'open' AND severity = 'medium') AS medium,
        count(*) FILTER (status = 'open' AND severity = 'low') AS low,
        count(DISTINCT site_id) FILTER (status = 'open') AS sites_with_open,
        count(DISTINCT site_id) FILTER (status = 'open' AND severity = 'critical') AS sites_with_critical,
        count(*) FILTER (status = 'open' AND fix = 'remote') AS from_a_desk,
        count(*) FILTER (status = 'open' AND fix = 'on-site') AS on_site,
        count(*) FILTER (rule = 'stale-export') AS stale
    FROM findings
)
SELECT *,
    (SELECT count(*) FROM not_evaluated) AS not_evaluated,
    (SELECT count(*) FROM rejected) AS rejections   -- a row may have several
FROM places, devices, loads, energy, saving, quiet, found
