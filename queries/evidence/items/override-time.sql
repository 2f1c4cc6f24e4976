--: name = "override-time"
--: place = 5
--: title = "A manual override ends by itself"
--: of_code = true
--: rests_on = "device"
--: test = "After closing, press the override and time it until the light goes out; look whether it can be latched, and whether a key is needed."
--: nobody = "No circuit in use of the areas that this is about is in the export; look whether the site has any on other switches."
--: absent = "not applicable"
--: reads = ["circuits"]
--
-- From override_minutes of each circuit. Contrary: longer than the limit. Unknown, or 0 (no override, or one that never
-- ends: the export does not say): insufficient.

WITH decided AS (
    SELECT *, limit_of(edition, item, 'override_minutes') AS limit_minutes, CASE
            WHEN claimed_at_night THEN claim_outcome
            WHEN override_minutes > limit_of(edition, item, 'override_minutes') THEN 'contrary'
            WHEN override_minutes > 0 THEN 'consistent'
            ELSE 'insufficient data'
        END AS outcome
    FROM e_scope WHERE item = 'override-time'
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, outcome,
    CASE
        WHEN claimed_at_night THEN claim_words || ' Its override is not judged.'
        WHEN override_minutes > 0 THEN format('The export gives {:g} min for an override; at most {:g} min are asked '
            || 'for.',
            override_minutes, limit_minutes)
        WHEN override_minutes = 0 THEN 'The export gives 0 min for an override: either there is none, or it never ends '
            || 'by itself.'
        ELSE 'override_minutes is not exported: whether there is an override, and when it ends, is not known.'
    END AS said,
    NULL::DATE AS first_date, NULL::DATE AS last_date, NULL::TIMESTAMP AS example_utc, NULL::DOUBLE AS minutes,
        NULL::DOUBLE AS kwh,
    ['override_minutes'] AS limits, [circuit_id] AS circuits, source_file, source_row
FROM decided
ORDER BY site_id, subject_id
