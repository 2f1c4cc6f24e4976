-- Sites of the run before that are not in this one.
SELECT site_id, name, region, reason FROM missing_sites ORDER BY site_id
