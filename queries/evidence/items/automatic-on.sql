--: name = "automatic-on"
--: place = 18
--: title = "Interior light that comes on by itself"
--: of_code = true
--: rests_on = "program"
--: test = "See at opening which rooms light up by themselves, and how much of their light; hold the type of each room against the adopted code."
--: nobody = "No interior circuit in use is in the export: nothing is shown about interior lighting, which may hang on other switches."
--: absent = "insufficient data"
--: reads = ["circuits", "events"]
--
-- Where the edition, or an amendment, says how much may come on by itself, a program that switches more on is contrary.
-- Without such a limit it depends on the type of space, which is in no export. A dimmed level is not power without a curve.

WITH ons AS (
    SELECT circuit_id, max(level) AS level, arg_max({'event_id': event_id,
        'file': source_file, 'row': source_row}, (level,
        -source_row)) AS step
    FROM e_steps WHERE level > 0 GROUP BY circuit_id
), decided AS (
    SELECT e_scope.*, level, step, limit_of(edition, item, 'most_on_percent') AS most_percent, CASE
            WHEN claimed_by_day THEN claim_outcome
            WHEN level IS NULL THEN 'consistent'
            WHEN level >= 100 AND limit_of(edition, item, 'most_on_percent') < 100 THEN 'contrary'
            ELSE 'insufficient data'
        END AS outcome
    FROM e_scope LEFT JOIN ons USING (circuit_id) WHERE item = 'automatic-on'
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, outcome,
    CASE
        WHEN claimed_by_day THEN claim_words || ' It is not judged.'
        WHEN level IS NULL THEN 'No step switches it on.'
        WHEN most_percent IS NULL THEN format('Step {} brings it on by itself, to {:g} %; whether that may be depends '
            || 'on the type of space, which is not exported.', step.event_id, level)
        WHEN outcome = 'contrary' THEN format('Step {} brings it fully on by itself; at most {:g} % of the power may '
            || 'come on so.', step.event_id, most_percent)
        ELSE format('Step {} brings it on by itself to a level of {:g} %; at most {:g} % of the power may come on so, '
            || 'and the power of a dimmed level is not known without a curve.',
            step.event_id, level, most_percent)
    END AS said,
    NULL::DATE AS first_date, NULL::DATE AS last_date, NULL::TIMESTAMP AS example_utc, NULL::DOUBLE AS minutes,
        NULL::DOUBLE AS kwh,
    CASE WHEN most_percent IS NULL THEN [] ELSE ['most_on_percent'] END AS limits, [circuit_id] AS circuits,
    coalesce(step.file, source_file) AS source_file, coalesce(step.row, source_row) AS source_row
FROM decided
ORDER BY site_id, subject_id
