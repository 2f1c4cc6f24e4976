-- Circuits that are kept out of the items by what somebody claims, with who stands behind it: the name in a standing
-- waiver of the circuit, else of its site.
WITH standing AS (
    SELECT waivers.* FROM waivers CROSS JOIN period WHERE expires IS NULL OR expires >= newest_read_at_utc::DATE
)
SELECT e_circuits.site_id, circuit_id, e_circuits.name, area, must_be_lit, exempt_reason, e_circuits.source_file,
    e_circuits.source_row, nullif(trim(approved_by), '') AS looked_at_by, standing.reason AS waiver_reason, expires,
    standing.source_file AS waiver_file, standing.source_row AS waiver_row
FROM e_circuits
LEFT JOIN standing ON standing.site_id = e_circuits.site_id
    AND (standing.subject_id = circuit_id OR standing.subject_id IS NULL)
WHERE declared IS NOT NULL
QUALIFY row_number() OVER (
    PARTITION BY circuit_id
    ORDER BY trim(coalesce(approved_by, '')) = '', standing.subject_id IS NULL, standing.source_row
) = 1
ORDER BY site_id, e_circuits.source_row, circuit_id
