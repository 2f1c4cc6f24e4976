--: name = "export-soundness"
--: place = 20
--: title = "Soundness of the export"
--: of_code = false
--: rests_on = "nothing"
--: test = "On the device read date, time, program and hand switch, and hold them against the export; switch once every channel that need not stay lit, and see which luminaires follow."
--: nobody = "No time switch is in the export of this site."
--: absent = "not applicable"
--: reads = ["controllers"]
--
-- Whether the export is a base for anything: how old it is, whether clocks are right, whether anything is left by hand
-- or a sensor out of service, whether the sun is that of the site, whether steps conflict or lack a half, whether rows
-- were rejected. A fault here makes outcomes that rest on it and would be consistent insufficient.

WITH faults AS (
    SELECT site_id, controller_id, string_agg(words, '; ' ORDER BY fault, words) AS words, min(at_utc) AS at_utc,
        arg_min(source_file, (fault, coalesce(circuit_id, ''))) AS file, arg_min(source_row, (fault, coalesce(circuit_id,
            ''))) AS row
    FROM (FROM e_faults WHERE fault <> 'unread' QUALIFY row_number() OVER (PARTITION BY site_id,
        controller_id, words ORDER BY circuit_id) = 1)
    GROUP BY site_id, controller_id
), devices AS (
    SELECT controllers.* EXCLUDE (source_file, source_row), words, at_utc, coalesce(file, source_file) AS source_file,
        coalesce(row, source_row) AS source_row
    FROM controllers JOIN (SELECT site_id FROM e_sites) AS asked USING (site_id)
        LEFT JOIN faults USING (site_id, controller_id)
)
SELECT site_id, 'controller' AS subject_kind, controller_id AS subject_id,
    CASE WHEN words IS NULL AND clock_reading_local IS NOT NULL THEN 'consistent' ELSE 'insufficient data' END AS outcome,
    CASE WHEN words IS NOT NULL THEN upper(words[1]) || words[2:] || '.' || CASE WHEN clock_reading_local IS NULL
        THEN ' Its clock was not read.' ELSE '' END
         WHEN clock_reading_local IS NULL
             THEN 'Its clock was not read (clock_reading): whether it is right is not known. Nothing else is wrong '
                 || 'with the export.'
         ELSE format('Read on {}; the clock is right within 5 min, nothing is left by hand, no sensor out of service, '
             || 'the sun is that of the site, no steps conflict or lack a half.', strftime(read_at_utc, '%-d %B %Y'))
    END AS said,
    NULL::DATE AS first_date, NULL::DATE AS last_date, at_utc AS example_utc,
        NULL::DOUBLE AS minutes, NULL::DOUBLE AS kwh,
    []::VARCHAR[] AS limits, NULL::VARCHAR[] AS circuits, source_file, source_row
FROM devices
UNION ALL
SELECT site_id, 'site', site_id, 'insufficient data', upper(words[1]) || words[2:] || '.', NULL, NULL, at_utc, NULL, NULL,
    [], NULL, file, row
FROM faults WHERE controller_id IS NULL
ORDER BY site_id, subject_id
