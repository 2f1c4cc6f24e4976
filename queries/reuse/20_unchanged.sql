-- The sites of which the run before, at hand as "earlier", worked out this very year from the same rows.
INSERT INTO unchanged_sites
SELECT site_id FROM site_digests JOIN earlier.site_digests USING (site_id, digest);
