-- How firm the order is: how many of the first ten sites stay among the first ten when one weight of the score is
-- halved or doubled, the others as they are; one row a weight and factor.

WITH changed (weight, factor) AS (
    SELECT * FROM (VALUES ('critical'), ('high'), ('medium'), ('low'), ('money')) AS weights (weight),
                  (VALUES (0.5), (2.0)) AS factors (factor)
), rescored AS (
    SELECT weight, factor, site_id, rank, critical,
        coalesce(avoidable_cost, 0) * CASE WHEN weight = 'money' THEN factor ELSE 1 END
        + critical * score_critical * CASE WHEN weight = 'critical' THEN factor ELSE 1 END
        + high * score_high * CASE WHEN weight = 'high' THEN factor ELSE 1 END
        + medium * score_medium * CASE WHEN weight = 'medium' THEN factor ELSE 1 END
        + low * score_low * CASE WHEN weight = 'low' THEN factor ELSE 1 END AS score
    FROM site_ranks CROSS JOIN portfolio CROSS JOIN changed
), reranked AS (
    SELECT *, row_number() OVER (PARTITION BY weight, factor ORDER BY critical > 0 DESC, score DESC, site_id) AS new_rank
    FROM rescored
)
SELECT weight, factor, count(*) FILTER (new_rank <= 10) AS stay, count(*) AS of_sites
FROM reranked
WHERE rank <= 10
GROUP BY weight, factor
ORDER BY stay, weight, factor
