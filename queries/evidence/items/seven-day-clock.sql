--: name = "seven-day-clock"
--: place = 4
--: title = "A clock that tells seven types of day apart"
--: of_code = true
--: rests_on = "device"
--: test = "Read the data sheet of the device, or enter seven different days and read them back."
--: nobody = "No time switch is in the export."
--: absent = "not applicable"
--: reads = ["controllers", "events"]
--
-- A matter of what the device can do, which no export tells. Consistent only where the program itself has seven different
-- days in some phase of the year, by what they do and not by how they are spelled; days that are alike prove nothing, so
-- that this is never contrary.

WITH weekdays AS (
    SELECT unnest(range(0, 7)) AS weekday
), phases AS (
    SELECT DISTINCT controller_id, phase, weekday(epoch_day(date)) AS weekday FROM e_phases
    UNION ALL
    SELECT controller_id, [], weekday FROM e_controllers CROSS JOIN weekdays
    WHERE item = 'seven-day-clock' AND controller_id NOT IN (SELECT controller_id FROM e_phases)
), days AS (
    SELECT controller_id, phase, weekday,
        string_agg(target || ': ' || program, '; ' ORDER BY target) AS program    -- NULL: a day on which nothing changes
    FROM phases LEFT JOIN e_day_programs USING (controller_id, phase, weekday)
    GROUP BY controller_id, phase, weekday
), counted AS (
    SELECT controller_id, count(DISTINCT coalesce(program, '')) AS kinds, bool_or(program IS NOT NULL) AS stepped
    FROM days GROUP BY controller_id, phase
), kinds AS (
    SELECT controller_id, CASE WHEN bool_or(stepped) THEN max(kinds) ELSE 0 END AS kinds FROM counted GROUP BY controller_id
), decided AS (
    SELECT e_controllers.*, coalesce(kinds, 0) AS kinds, limit_of(edition, item, 'day_types') AS day_types
    FROM e_controllers LEFT JOIN kinds USING (controller_id) WHERE item = 'seven-day-clock'
)
SELECT site_id, 'controller' AS subject_kind, controller_id AS subject_id,
    CASE WHEN kinds >= day_types THEN 'consistent' ELSE 'insufficient data' END AS outcome,
    CASE WHEN kinds >= day_types THEN format('Its program has {:d} different days in a week: it tells that many apart.', kinds)
         WHEN kinds = 0 THEN 'It has no ordinary steps, and how many types of day it can tell apart is not exported.'
         ELSE format('Its program {}; whether the device could tell {:g} apart is not exported, and days that are '
             || 'alike '
             || 'prove nothing.', CASE WHEN kinds = 1 THEN 'is the same on every day of the week'
                 ELSE format('has {:d} different days in a week', kinds) END, day_types) END AS said,
    NULL::DATE AS first_date, NULL::DATE AS last_date, NULL::TIMESTAMP AS example_utc, NULL::DOUBLE AS minutes,
        NULL::DOUBLE AS kwh,
    ['day_types'] AS limits, NULL::VARCHAR[] AS circuits, source_file, source_row
FROM decided
ORDER BY site_id, subject_id
