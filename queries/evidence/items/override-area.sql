--: name = "override-area"
--: place = 6
--: title = "An override, or a zone, serves a limited area"
--: of_code = true
--: rests_on = "device"
--: test = "Press the override and walk the area that lights up; measure it on the plan, and see whether other circuits follow the same switch."
--: nobody = "No interior circuit in use is in the export: nothing is shown about interior lighting, which may hang on other switches."
--: absent = "insufficient data"
--: reads = ["circuits", "sites"]
--
-- From floor_area_m2 of each circuit, as square feet; above a limit is what is so in whole square feet. A site of a type with relief is held against the larger limit. A
-- circuit within it is shown only where all circuits of its device together are: one override may serve them all.

WITH relieved AS (
    SELECT edition, item, unnest(site_types) AS site_type FROM code_exceptions WHERE tag = 'large-space'
), limits AS (
    SELECT e_scope.*, sum(floor_area_m2::DECIMAL(18, 4)) OVER device AS device_m2, square_feet(device_m2::DOUBLE) AS
        device_ft2,
        count(*) FILTER (floor_area_m2 IS NULL) OVER device AS device_unknown, square_feet(floor_area_m2) AS area_ft2,
            limit_of(edition, item, 'area_ft2') AS ordinary_ft2,
        CASE WHEN (edition, item, site_type) IN (FROM relieved) THEN limit_of(edition, item,
            'relieved_area_ft2') END AS relieved_ft2
    FROM e_scope WHERE item = 'override-area'
    WINDOW device AS (PARTITION BY controller_id)
), decided AS (
    SELECT *, coalesce(relieved_ft2, ordinary_ft2) AS limit_ft2, CASE
            WHEN claimed_at_night THEN claim_outcome
            WHEN area_ft2 IS NULL THEN 'insufficient data'
            WHEN round(area_ft2) > limit_ft2 THEN 'contrary'
            WHEN area_ft2 > limit_ft2 THEN 'insufficient data'      -- within what rounding to whole feet does
            WHEN device_ft2 > limit_ft2 OR device_unknown > 0 THEN 'insufficient data'
            ELSE 'consistent'
        END AS outcome
    FROM limits
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, outcome,
    CASE
        WHEN claimed_at_night THEN claim_words || ' Its area is not judged.'
        WHEN area_ft2 IS NULL THEN 'floor_area_m2 is not exported: how large an area one override serves is not known.'
        ELSE format('It serves {}; at most {} ft² are asked for{}. {}.', area_words(floor_area_m2),
            grouped(format('{:,.15g}', limit_ft2)), CASE WHEN relieved_ft2 IS NULL THEN ''
                ELSE format(' where the site is of type {}', site_type) END,
            CASE WHEN outcome = 'contrary' THEN 'Whether one override serves other circuits with it is not exported'
                 WHEN outcome = 'consistent' THEN 'All interior circuits of its device together are within that, '
                     || 'should one '
                    || 'override serve them all'
                 WHEN area_ft2 > limit_ft2 THEN 'Whether that is above or not lies within the rounding of the figures'
                 ELSE format('The interior circuits of device {} serve {} together{}; whether one override serves '
                     || 'them all is '
                    || 'not exported', controller_id, area_words(device_m2), CASE WHEN device_unknown = 0 THEN ''
                        ELSE format(', without {:d} whose floor_area_m2 is not exported', device_unknown) END) END)
    END AS said,
    NULL::DATE AS first_date, NULL::DATE AS last_date, NULL::TIMESTAMP AS example_utc, NULL::DOUBLE AS minutes,
        NULL::DOUBLE AS kwh,
    [CASE WHEN relieved_ft2 IS NULL THEN 'area_ft2' ELSE 'relieved_area_ft2' END] AS limits, [circuit_id] AS circuits,
        source_file, source_row
FROM decided
ORDER BY site_id, subject_id
