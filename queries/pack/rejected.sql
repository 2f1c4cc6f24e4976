-- Rows of the sites of a pack that were left out of everything.
SELECT rejected.site_id, source_file, source_row, "column" AS column_name, value, reason
FROM rejected JOIN report_sites USING (site_id)
ORDER BY site_id, source_file, source_row, column_name
