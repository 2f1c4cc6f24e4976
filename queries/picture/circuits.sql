-- What is drawn, one row a circuit, with what its words need.
SELECT circuit_no, kind_no, site_no, picture_circuits.clock_no, figures.*, circuits.name, sites.name AS site_name, circuits.area, sites.timezone,
    figures.site_id IN (SELECT site_id FROM hours) AS hours_known, first_date, days, daylight_margin_s
FROM picture_circuits
JOIN picture_sites USING (site_id)
JOIN circuits USING (circuit_id)
JOIN circuit_figures AS figures USING (circuit_id)
JOIN sites ON sites.site_id = figures.site_id
CROSS JOIN period
ORDER BY circuit_no
