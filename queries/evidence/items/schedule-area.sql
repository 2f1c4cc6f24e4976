--: name = "schedule-area"
--: place = 7
--: title = "One schedule serves a limited area and one floor"
--: of_code = true
--: rests_on = "device"
--: test = "Hold the plans against the circuits that share a program: their area, and the floors that they are on."
--: nobody = "No interior circuit in use is in the export: nothing is shown about interior lighting, which may hang on other switches."
--: absent = "insufficient data"
--: reads = ["circuits", "events"]
--
-- Circuits of one device with the same steps share a schedule; their areas are summed. Floors are in no export, so that
-- nothing is ever shown to be consistent here.

WITH shared AS (
    SELECT circuit_id, string_agg(event_id, ';' ORDER BY row_no) AS event_ids FROM e_steps GROUP BY circuit_id
), members AS (
    SELECT * FROM e_scope WHERE item = 'schedule-area'
), scope AS (
    SELECT members.*, coalesce(event_ids, circuit_id) AS schedule FROM members LEFT JOIN shared USING (circuit_id)
    WHERE NOT claimed_at_night
), groups AS (
    SELECT site_id, any_value(edition) AS edition, any_value(item) AS item,
        list(circuit_id ORDER BY circuit_id) AS circuits,
        sum(floor_area_m2::DECIMAL(18, 4)) AS area_m2, count(*) FILTER (floor_area_m2 IS NULL) AS unknown,
        arg_min(source_file, source_row) AS source_file, min(source_row) AS source_row
    FROM scope GROUP BY site_id, controller_id, schedule
), decided AS (
    SELECT *, square_feet(area_m2::DOUBLE) AS area_ft2, limit_of(edition, item, 'area_ft2') AS limit_ft2 FROM groups
)
SELECT site_id, 'group' AS subject_kind, array_to_string(circuits, ';') AS subject_id,
    CASE WHEN round(area_ft2) > limit_ft2 THEN 'contrary' ELSE 'insufficient data' END AS outcome,
    CASE WHEN len(circuits) = 1 THEN 'This circuit has a schedule of its own'
         ELSE format('{:d} circuits share one schedule', len(circuits)) END
        || CASE WHEN area_ft2 IS NULL THEN '; floor_area_m2 is not exported'
                ELSE format(', {}{}{}{}', area_words(area_m2), CASE WHEN len(circuits) = 1 THEN '' ELSE ' together'
                    END,
                    CASE WHEN unknown > 0 THEN format(', without {:d} whose floor_area_m2 is not exported', unknown)
                        ELSE '' END,
                    CASE WHEN limit_ft2 IS NULL THEN ''
                        ELSE format('; at most {} ft² are asked for', grouped(format('{:,.15g}', limit_ft2))) END) END
        || '. On how many floors ' || CASE WHEN len(circuits) = 1 THEN 'it is' ELSE 'they are' END
        || ' is not exported; at most one is asked for.' AS said,
    NULL::DATE AS first_date, NULL::DATE AS last_date, NULL::TIMESTAMP AS example_utc, NULL::DOUBLE AS minutes,
        NULL::DOUBLE AS kwh,
    CASE WHEN limit_ft2 IS NULL THEN ['floors'] ELSE ['area_ft2', 'floors'] END AS limits,
        circuits, source_file, source_row
FROM decided
UNION ALL
SELECT site_id, 'circuit', circuit_id, claim_outcome, claim_words || ' Its area is not judged.',
    NULL, NULL, NULL, NULL, NULL, [], [circuit_id], source_file, source_row
FROM members WHERE claimed_at_night
ORDER BY site_id, subject_id
