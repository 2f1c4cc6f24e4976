-- The same of what circuits would do with right clocks. Reads batch(first_site_no, last_site_no), of sites numbered among
-- those of wrong clocks.

CREATE TEMP TABLE known_circuits AS
WITH numbered AS (
    SELECT row_number() OVER (ORDER BY site_id) AS site_no, site_id FROM (SELECT DISTINCT site_id FROM right_clock_devices)
)
SELECT circuit_id
FROM numbered
JOIN batch ON site_no BETWEEN first_site_no AND last_site_no
JOIN controllers USING (site_id)
JOIN circuits USING (controller_id);

INSERT INTO right_clock_timeline BY NAME FROM earlier.right_clock_timeline WHERE circuit_id IN (FROM known_circuits)
ORDER BY rowid;
