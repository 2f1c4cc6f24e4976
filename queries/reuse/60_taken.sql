-- How many sites are worked out, and how many are taken from the run before: those that did not change, where at least
-- $few of them follow one another.
WITH compared AS (
    SELECT site_id, site_id IN (FROM unchanged_sites) AS known FROM sites
), told AS (
    SELECT known,
        row_number() OVER (ORDER BY site_id) - row_number() OVER (PARTITION BY known ORDER BY site_id) AS stretch
    FROM compared
), stretches AS (
    SELECT count(*) AS number, known AND number >= $few AS taken FROM told GROUP BY known, stretch
)
SELECT coalesce(sum(number) FILTER (NOT taken), 0), coalesce(sum(number) FILTER (taken), 0) FROM stretches
