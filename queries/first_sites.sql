-- The first sites by rank, those that weigh anything at all.
SELECT site_id, name, score FROM site_ranks JOIN sites USING (site_id) WHERE score > 0 ORDER BY rank LIMIT $number
