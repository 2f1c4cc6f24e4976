-- The devices of the sites that have a page, in the order of the input.
SELECT controllers.*
FROM controllers
WHERE site_id IN (FROM report_sites)
ORDER BY site_id, source_row, controller_id
