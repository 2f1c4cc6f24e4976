-- The circuits in use of the sites that have a page, with the period's figures.
SELECT circuits.* EXCLUDE (hold), controllers.site_id,
    coalesce(circuits.hold, controllers.hold) AS hold, coalesce(combine, 'any') AS combine,
    figures.* EXCLUDE (site_id, controller_id, circuit_id)
FROM circuits
JOIN controllers USING (controller_id)
JOIN report_sites USING (site_id)
LEFT JOIN circuit_figures AS figures USING (circuit_id)
WHERE coalesce(in_use, true)
ORDER BY site_id, controllers.source_row, controller_id, circuits.source_row, circuit_id
