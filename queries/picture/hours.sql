-- Opening hours of the sites of these circuits, in the order of the input.
SELECT site_no, days_mask, opens_s, closes_s
FROM hours JOIN picture_sites USING (site_id)
ORDER BY site_no, source_row, days_mask, opens_s, closes_s
