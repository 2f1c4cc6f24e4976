--: name = "claimed-exemptions"
--: place = 19
--: title = "Claimed exemptions, and who stands behind them"
--: of_code = false
--: rests_on = "nothing"
--: test = "Go and see what the light serves, and hold reason and exception of the adopted code against each other with the authority having jurisdiction."
--: nobody = "No circuit claims an exemption."
--: absent = "not applicable"
--: reads = ["circuits", "waivers"]
--
-- Every circuit that is left out of the other items: by its area (egress, security), a duty to light or a claimed
-- exemption. Accepted as claimed only with a reason (exempt_reason) and somebody who looked at it: a standing waiver for
-- the circuit or its site with a name in approved_by. Never contrary: no schedule tells what a light serves.

WITH reviewed AS (
    SELECT site_id, subject_id, approved_by, source_file, source_row
    FROM waivers CROSS JOIN period
    WHERE trim(coalesce(approved_by, '')) <> '' AND (expires IS NULL OR expires >= newest_read_at_utc::DATE)
), claims AS (
    SELECT e_circuits.*, own.approved_by AS own_by, whole.approved_by AS whole_by,
        coalesce(own.source_file, whole.source_file) AS review_file,
            coalesce(own.source_row, whole.source_row) AS review_row
    FROM e_circuits
    LEFT JOIN reviewed AS own ON own.site_id = e_circuits.site_id AND own.subject_id = circuit_id
    LEFT JOIN reviewed AS whole ON whole.site_id = e_circuits.site_id AND whole.subject_id IS NULL
    WHERE claim IS NOT NULL
    QUALIFY row_number() OVER (PARTITION BY circuit_id ORDER BY own.source_row, whole.source_row) = 1
), decided AS (
    SELECT *, coalesce(own_by, whole_by) AS reviewer, exempt_reason IS NOT NULL AND reviewer IS NOT NULL AS whole_claim
        FROM claims
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id,
    CASE WHEN whole_claim THEN 'not applicable' ELSE 'insufficient data' END AS outcome,
    format('Claimed exempt by {}.{}{}', claim,
        CASE WHEN exempt_reason IS NULL THEN ' No reason is given in exempt_reason.' ELSE '' END,
        CASE WHEN reviewer IS NULL THEN ' Nobody is named who looked at it: no standing waiver of it or of its site '
            || 'has a name.'
             ELSE format(' Looked at by {} ({}, row {:d}).', reviewer, review_file, review_row) END) AS said,
    NULL::DATE AS first_date, NULL::DATE AS last_date, NULL::TIMESTAMP AS example_utc, NULL::DOUBLE AS minutes,
        NULL::DOUBLE AS kwh,
    []::VARCHAR[] AS limits, [circuit_id] AS circuits, source_file, source_row
FROM decided
ORDER BY site_id, subject_id
