--: name = "clock-backup"
--: place = 8
--: title = "Program and time outlast a power cut"
--: of_code = true
--: rests_on = "device"
--: test = "Read the data sheet and the battery's date; a qualified person takes the power away for the time asked for, with other light wherever light must stay, and reads clock and program back."
--: nobody = "No time switch is in the export."
--: absent = "not applicable"
--: reads = ["controllers"]
--
-- From clock_backup_hours: how long program and clock are both kept without power. It is one figure for the two: where an
-- edition asks more of the program than of the clock, it is held against the longer.

WITH asked AS (
    SELECT *, limit_of(edition, item, 'clock_hours') AS clock_hours, limit_of(edition, item,
        'program_hours') AS program_hours
    FROM e_controllers WHERE item = 'clock-backup'
), decided AS (
    SELECT *, CASE
            WHEN clock_backup_hours IS NULL THEN 'insufficient data'
            WHEN clock_backup_hours < greatest(clock_hours, program_hours) THEN 'contrary'
            ELSE 'consistent'
        END AS outcome
    FROM asked
)
SELECT site_id, 'controller' AS subject_kind, controller_id AS subject_id, outcome,
    CASE
        WHEN clock_backup_hours IS NULL THEN format('clock_backup_hours is not exported; {:g} h are asked for the '
            || 'clock and {:g} h for the program.',
            clock_hours, program_hours)
        ELSE format('The export gives {:g} h without power for program and clock; {:g} h are asked for the '
            || 'clock and {:g} h for the program.',
            clock_backup_hours,
            clock_hours, program_hours)
    END AS said,
    NULL::DATE AS first_date, NULL::DATE AS last_date, NULL::TIMESTAMP AS example_utc, NULL::DOUBLE AS minutes,
        NULL::DOUBLE AS kwh,
    ['clock_hours', 'program_hours'] AS limits, NULL::VARCHAR[] AS circuits, source_file, source_row
FROM decided
ORDER BY site_id, subject_id
