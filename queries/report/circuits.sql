-- The circuits that the findings touch, with the period's figures.
SELECT circuits.* EXCLUDE (hold), controllers.site_id,
    coalesce(circuits.hold, controllers.hold) AS hold, coalesce(combine, 'any') AS combine,
    figures.* EXCLUDE (site_id, controller_id, circuit_id)
FROM report_circuits AS circuits
JOIN controllers USING (controller_id)
LEFT JOIN circuit_figures AS figures USING (circuit_id)
ORDER BY site_id, controllers.source_row, controller_id, circuits.source_row, circuit_id
