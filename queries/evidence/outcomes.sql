-- One row a site and item.
FROM evidence_outcomes
ORDER BY site_id, place
