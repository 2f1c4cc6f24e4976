-- Opening hours of the sites that have a page.
SELECT site_id, days_mask, opens_s, closes_s, source_file, source_row
FROM hours
WHERE site_id IN (FROM report_sites)
ORDER BY site_id, source_row, days_mask, opens_s, closes_s
