-- Which devices are worked out once more, with right clocks: those of wrong clocks. Where $pages is given, only at sites
-- that have a page, for nobody is shown the others.
CREATE OR REPLACE TABLE right_clock_devices AS
SELECT controller_id, site_id
FROM wrong_clocks
WHERE $pages IS NULL OR site_id IN (SELECT site_id FROM site_ranks WHERE rank <= $pages);
