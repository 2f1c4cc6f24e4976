-- How far the sun that a device computes, by the location set in it, is from the sun of its site: the median over the
-- audited dates, where it is a minute or more, and which way on nine dates of ten.
SELECT controller_id, kind, median(abs(shift_s)) AS off_s,
    CASE WHEN count(*) FILTER (shift_s < 0) >= 0.9 * count(*) THEN 'early'
         WHEN count(*) FILTER (shift_s > 0) >= 0.9 * count(*) THEN 'late'
         ELSE 'off' END AS way
FROM (SELECT controller_id, kind, unnest(shifts_s) AS shift_s FROM sun_shifts)
JOIN controllers USING (controller_id) JOIN report_sites USING (site_id)
GROUP BY controller_id, kind
HAVING off_s >= 60
ORDER BY controller_id, kind
