-- Which circuits are drawn, and of what kind they are. Reads picture_ids(place, circuit_id).

CREATE OR REPLACE TEMP TABLE picture_circuits AS
SELECT
    row_number() OVER (ORDER BY place)::INTEGER AS circuit_no,
    circuit_id, controller_id, site_id, clock_no, timezone, area, must_be_lit,
    area = 'interior' AS indoors, area IN ('parking', 'walkway', 'canopy', 'egress') AS walked,
    -- where light by day is nothing to point at
    area IN ('interior', 'egress', 'security') OR must_be_lit IS NOT DISTINCT FROM 'always' AS lit_by_day,
    dense_rank() OVER (ORDER BY indoors, walked, lit_by_day, must_be_lit)::INTEGER AS kind_no
FROM picture_ids JOIN circuits USING (circuit_id) JOIN controllers USING (controller_id) JOIN sites USING (site_id)
JOIN clocks ON clock = timezone
WHERE coalesce(in_use, true);

CREATE OR REPLACE TEMP TABLE picture_sites AS
SELECT DISTINCT site_id, clock_no, dense_rank() OVER (ORDER BY site_id)::INTEGER AS site_no FROM picture_circuits;

-- Every date of a zone; two pieces where its offset changes. A clock shows t_s + to_local_s seconds after 00:00.
-- A picture's day is the number of a local date within the period, the first one 0.
CREATE OR REPLACE TEMP TABLE picture_dates AS
WITH pieces AS (
    SELECT clock_no, offset_s, start_s, end_s,
        unnest(range(
            greatest(floor_day(start_s + offset_s), epoch_day(first_date)),
            least(floor_day(end_s - 1 + offset_s) + 1, epoch_day(first_date) + days)
        )) AS local_day, epoch_day(first_date) AS first_day
    FROM clock_offsets CROSS JOIN period
    WHERE clock_no IN (SELECT clock_no FROM picture_sites)
)
SELECT clock_no, (local_day - first_day)::INTEGER AS day,
    greatest(start_s, local_day * 86400 - offset_s) AS start_s,
    least(end_s, (local_day + 1) * 86400 - offset_s) AS end_s,
    offset_s - local_day * 86400 AS to_local_s
FROM pieces;
