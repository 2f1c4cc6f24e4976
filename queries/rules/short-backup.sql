--: name = "short-backup"
--: title = "Clock does not outlast a power cut"
--: severity = "low"
--: subject = "controller"
--: needs = ["energy_code", "clock_backup_hours"]
--: fix = "on-site"
--: who = "qualified electrician"
--: params.backup_hours = { default = 10, unit = "h", meaning = "asked by IECC and 90.1" }
--: params.title_24_hours = { default = 72, unit = "h", meaning = "asked by Title 24 for date and time" }
--
-- What goes wrong. The battery or capacitor that carries the clock through a power cut is missing, old or small.
-- Why it matters. After the cut the device starts at its factory date, and every step is wrong until somebody sees it.
-- On site. Ask for the data sheet; look for the battery's date. Only a qualified person opens the enclosure.
-- What good looks like. More than the code asks, and a battery changed on schedule.
-- Source: IECC C405.2.2.1 (10 h), ANSI/ASHRAE/IES 90.1 9.4.1 (10 h, from memory, check), Title 24 Part 6 110.9(b)1
-- (date and time for 72 h).

WITH scope AS (
    SELECT controllers.*, coalesce(sites.energy_code, portfolio.energy_code) AS edition,
        CASE
            WHEN edition IN ('iecc-2015', 'iecc-2018', 'iecc-2021', 'iecc-2024', 'ashrae-90.1-2013',
                             'ashrae-90.1-2016', 'ashrae-90.1-2019', 'ashrae-90.1-2022') THEN $backup_hours
            WHEN edition IN ('title-24-2019', 'title-24-2022', 'title-24-2025') THEN $title_24_hours
        END AS asked_hours
    FROM controllers JOIN sites USING (site_id) CROSS JOIN portfolio
)
SELECT site_id, 'controller' AS subject_kind, controller_id AS subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, NULL::DATE AS first_date, NULL::DATE AS last_date,
    format('Its clock lasts {:g} h without power; {} asks for {} h.', clock_backup_hours, edition, asked_hours) AS summary,
    format('The export gives {:g} h as its backup.', clock_backup_hours) AS seen,
    format('Have the backup checked, and battery or device replaced by one that lasts {} h or more. Until then, '
           || 'check the clock after every power cut.',
        asked_hours) AS remedy,
    NULL AS missing
FROM scope WHERE clock_backup_hours < asked_hours
UNION ALL
SELECT site_id, 'controller', controller_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL,
    CASE WHEN asked_hours IS NULL THEN 'energy_code' ELSE 'clock_backup_hours' END
FROM scope WHERE asked_hours IS NULL OR clock_backup_hours IS NULL
ORDER BY site_id, subject_id
