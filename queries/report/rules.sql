-- How often each rule spoke, in numbers of findings; money a year and kWh of the open ones.
WITH counted AS (
    SELECT rule,
        count(*) FILTER (status = 'open' AND severity = 'critical') AS critical,
        count(*) FILTER (status = 'open' AND severity = 'high') AS high,
        count(*) FILTER (status = 'open' AND severity = 'medium') AS medium,
        count(*) FILTER (status = 'open' AND severity = 'low') AS low,
        count(*) FILTER (status = 'waived') AS waived,
        count(*) FILTER (status = 'exempt') AS exempt,
        sum(kwh::DECIMAL(24, 6)) FILTER (status = 'open')::DOUBLE AS kwh,
        sum(cost::DECIMAL(24, 6)) FILTER (status = 'open')::DOUBLE AS cost,
        count(*) FILTER (status = 'open' AND kwh IS NULL) AS without_kwh
    FROM findings GROUP BY rule
), unseen AS (
    SELECT rule, count(*) AS not_evaluated FROM not_evaluated GROUP BY rule
)
SELECT rule, counted.* EXCLUDE (rule), coalesce(not_evaluated, 0) AS not_evaluated
FROM counted FULL JOIN unseen USING (rule)
ORDER BY critical DESC NULLS LAST, high DESC NULLS LAST, medium DESC NULLS LAST, low DESC NULLS LAST, rule
