-- What site pages speak of: the first sites by rank, at most as many as the parameter pages says.
CREATE OR REPLACE TEMP TABLE report_sites AS
SELECT site_id FROM site_ranks WHERE rank <= $pages
