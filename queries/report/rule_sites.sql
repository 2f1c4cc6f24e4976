-- At how many sites a rule has an open finding, and the first of them by rank.
WITH places AS (
    SELECT DISTINCT rule, site_id, rank, name FROM findings JOIN site_ranks USING (site_id) JOIN sites USING (site_id)
    WHERE status = 'open'
)
SELECT *, count(*) OVER (PARTITION BY rule) AS of_sites
FROM places
QUALIFY row_number() OVER (PARTITION BY rule ORDER BY rank) <= 12
ORDER BY rule, rank
