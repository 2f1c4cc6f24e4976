-- Connected load of each site by area: exact sums of connected_watts (to a thousandth), and what they lack.
SELECT site_id, area, count(*) AS circuits,
    sum(connected_watts::DECIMAL(18, 3))::DOUBLE AS watts,       -- of the circuits whose watts are known
    string_agg(circuit_id, ', ' ORDER BY circuit_id) FILTER (connected_watts IS NULL) AS unknown
FROM e_circuits
GROUP BY site_id, area
ORDER BY site_id, list_position(['interior', 'parking', 'walkway', 'canopy', 'facade',
    'landscape', 'sign', 'other-exterior',
    'egress', 'security'], area)
