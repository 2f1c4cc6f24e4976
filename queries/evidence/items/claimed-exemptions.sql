--: name = "claimed-exemptions"
--: place = 19
--: title = "Claimed exemptions, and who stands behind them"
--: of_code = false
--: rests_on = "nothing"
--: test = "Go and see what the light serves, and hold reason and exception of the adopted code against each other with the authority having jurisdiction."
--: nobody = "No circuit claims an exemption, and no name hints at one."
--: absent = "not applicable"
--: reads = ["circuits", "waivers"]
--
-- Every circuit that is left out of the other items: by its area (egress, security), a duty to light, a claimed
-- exemption or a name that hints at a way out. Never contrary: no schedule tells what a light serves.

SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, claim_outcome AS outcome, claim_words AS said,
    NULL::DATE AS first_date, NULL::DATE AS last_date, NULL::TIMESTAMP AS example_utc, NULL::DOUBLE AS minutes,
        NULL::DOUBLE AS kwh,
    []::VARCHAR[] AS limits, [circuit_id] AS circuits, source_file, source_row
FROM e_circuits WHERE claim IS NOT NULL
ORDER BY site_id, subject_id
