--: name = "override-area"
--: place = 6
--: title = "An override, or a zone, serves a limited area"
--: of_code = true
--: rests_on = "device"
--: test = "Press the override and walk the area that lights up; measure it on the plan, and see whether other circuits follow the same switch."
--: nobody = "No interior circuit is in the export: nothing is shown about interior lighting, which may hang on other switches."
--: absent = "insufficient data"
--: reads = ["circuits", "sites"]
--
-- From floor_area_m2 of each circuit, as square feet. A site of a type with relief is held against the larger limit.

WITH relieved AS (
    SELECT edition, item, unnest(site_types) AS site_type FROM code_exceptions WHERE tag = 'large-space'
), limits AS (
    SELECT e_scope.*, square_feet(floor_area_m2) AS area_ft2, limit_of(edition, item, 'area_ft2') AS ordinary_ft2,
        CASE WHEN (edition, item, site_type) IN (FROM relieved) THEN limit_of(edition, item,
            'relieved_area_ft2') END AS relieved_ft2
    FROM e_scope WHERE item = 'override-area'
), decided AS (
    SELECT *, coalesce(relieved_ft2, ordinary_ft2) AS limit_ft2, CASE
            WHEN claimed_at_night THEN claim_outcome
            WHEN area_ft2 IS NULL THEN 'insufficient data'
            WHEN area_ft2 > limit_ft2 THEN 'contrary'
            ELSE 'consistent'
        END AS outcome
    FROM limits
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, outcome,
    CASE
        WHEN claimed_at_night THEN claim_words || ' Its area is not judged.'
        WHEN area_ft2 IS NULL THEN 'floor_area_m2 is not exported: how large an area one override serves is not known.'
        ELSE format('It serves {:,.0f} ft² ({:g} m²); at most {:,g} ft² are asked for{}. Whether one override serves '
            || 'other circuits with it is not exported.',
            area_ft2, floor_area_m2, limit_ft2, CASE WHEN relieved_ft2 IS NULL THEN ''
                ELSE format(' where the site is of type {}', site_type) END)
    END AS said,
    NULL::DATE AS first_date, NULL::DATE AS last_date, NULL::TIMESTAMP AS example_utc, NULL::DOUBLE AS minutes,
        NULL::DOUBLE AS kwh,
    [CASE WHEN relieved_ft2 IS NULL THEN 'area_ft2' ELSE 'relieved_area_ft2' END] AS limits, [circuit_id] AS circuits,
        source_file, source_row
FROM decided
ORDER BY site_id, subject_id
