-- Where every site lies and what is open there, in the order of rank; latitude and longitude in degrees.
SELECT site_id, rank, name, region, latitude, longitude, critical, high, medium, low,
    CASE WHEN critical > 0 THEN 'critical' WHEN high > 0 THEN 'high' WHEN medium > 0 THEN 'medium'
        WHEN low > 0 THEN 'low' ELSE 'none' END AS worst
FROM site_ranks JOIN sites USING (site_id)
ORDER BY rank
