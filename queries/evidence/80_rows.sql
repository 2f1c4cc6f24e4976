-- Every item's rows, as they are told: sites without a subject, exceptions by the type of a site, the soundness of the
-- export, and what a figure rests on. Nothing that was asked goes missing on the way.

DELETE FROM evidence_rows;
DELETE FROM evidence_outcomes;

-- A site and item without any row says why, in a row of its own.
CREATE OR REPLACE TEMP TABLE e_all_rows AS
WITH asked AS (
    SELECT e_sites.*, evidence_items.*, code_items.item IS NOT NULL AND coalesce(asked, false) AS asked,
        code_editions.title AS edition_title
    FROM e_sites CROSS JOIN evidence_items
    LEFT JOIN code_items USING (edition, item)
    LEFT JOIN code_editions USING (edition)
), lonely AS (
    SELECT * FROM asked
    WHERE (site_id, item) NOT IN (SELECT (site_id, item) FROM item_rows)
)
SELECT * FROM item_rows
UNION ALL BY NAME
SELECT item, site_id, 'site' AS subject_kind, site_id AS subject_id,
    CASE
        WHEN of_code AND edition_title IS NULL THEN 'insufficient data'
        WHEN of_code AND NOT asked THEN 'not applicable'
        WHEN site_id NOT IN (SELECT site_id FROM e_circuits) AND item <> 'claimed-exemptions' THEN 'insufficient data'
        ELSE absent
    END AS outcome,
    CASE
        WHEN of_code AND edition IS NULL THEN 'No code edition is known for this site. Ask which one was in force at '
            || 'the permit.'
        WHEN of_code AND edition_title IS NULL
            THEN format('The edition "{}" is not among these data. Ask which one was in force at the permit, or add it with --codes.', edition)
        WHEN of_code AND NOT asked THEN format('{} does not ask for this, as far as these data go.', edition_title)
        WHEN site_id NOT IN (SELECT site_id FROM e_circuits) AND item <> 'claimed-exemptions'
            THEN 'The export holds no circuit in use of this site: nothing is shown.'
        ELSE nobody
    END AS said,
    []::VARCHAR[] AS limits, source_file, source_row
FROM lonely;

-- An exception by the type of a site: it takes the edge off what would be contrary, or takes the item away. Where
-- people may be cared for, by type or name, no program of interior light is said to be contrary, whatever the edition
-- excepts. Where an edition excepts small exterior work, a small exterior load may be such work, whoever did not claim it; egress and
-- security lighting is not counted, for it may be indoors.
CREATE OR REPLACE TEMP TABLE e_excepted AS
WITH exterior AS (
    SELECT site_id, coalesce(sum(connected_watts::DECIMAL(18, 3)), 0)::DOUBLE AS known_w,
        count(*) FILTER (connected_watts IS NULL) AS unknown_count
    FROM e_circuits WHERE area NOT IN ('interior', 'egress', 'security') GROUP BY site_id
), small AS (
    SELECT e_sites.site_id, code_limits.item, tag, words, code_exceptions.mark, known_w, unknown_count
    FROM e_sites JOIN exterior USING (site_id) JOIN code_limits USING (edition) JOIN code_exceptions USING (edition, item)
    WHERE name = 'exempt_watts' AND tag = 'small-exterior-work' AND known_w <= value
), excepting AS (
    SELECT site_id, item, tag, words, outcome AS excepted_outcome, mark, 'the type of the site, ' || site_type AS
        told_by
    FROM code_exceptions JOIN e_sites USING (edition)
    WHERE outcome <> '' AND list_contains(site_types, site_type)
    UNION ALL
    SELECT site_id, item, tag, words || ' It may apply; who did the work, and whether it is all, is in no export.',
        'insufficient data', mark, format('the exterior load in the export, {}{}', watts_words(known_w),
            CASE WHEN unknown_count = 0 THEN '' ELSE format(' without {}', number_words(unknown_count, 'circuit')
                || ' whose connected_watts is not exported') END)
    FROM small
    UNION ALL
    SELECT site_id, item, 'patient-care', 'Which rooms these circuits light, and whether people are cared for in '
        || 'them, is to '
            || 'be told apart before anything is said against their light.', 'insufficient data',
        'a default of this program', format('the type or name of the site, "{}"', care_words)
    FROM e_sites JOIN code_items USING (edition) JOIN evidence_items USING (item)
    WHERE care_words IS NOT NULL AND list_contains(areas, 'interior') AND rests_on = 'program'
), chosen AS (
    FROM excepting QUALIFY row_number() OVER (PARTITION BY site_id, item ORDER BY loudness(excepted_outcome) DESC,
        mark = 'a default of this program', tag) = 1
)
SELECT e_all_rows.* EXCLUDE (outcome, said, tag, words, mark, excepted_outcome, told_by, applies),
    CASE WHEN applies THEN excepted_outcome ELSE outcome END AS outcome,
    said || CASE WHEN applies THEN format(' Exception {} ({}), by {}: {}', tag, mark, told_by, words) ELSE '' END AS
        said
FROM (
    SELECT e_all_rows.*, tag, words, mark, excepted_outcome, told_by,
        coalesce(excepted_outcome = 'not applicable' AND outcome <> 'not applicable'
            OR excepted_outcome = 'insufficient data' AND outcome = 'contrary',
                false) AND subject_kind <> 'site' AS applies
    FROM e_all_rows LEFT JOIN chosen USING (site_id, item)
) AS e_all_rows;

-- Faults of the export that an outcome rests on, in words. A clock matters where a step moves the circuit, or a sensor of
-- it: what a photocontrol moves alone is right by any clock.
CREATE OR REPLACE TEMP TABLE e_row_faults AS
WITH stepped AS (
    SELECT circuit_id FROM e_steps
    UNION
    SELECT circuit_id FROM e_acting JOIN (SELECT unnest(targets) AS sensor_id FROM events) USING (sensor_id)
), resting AS (
    SELECT e_excepted.item, e_excepted.site_id, subject_kind, subject_id, rests_on, unnest(circuits) AS circuit_id
    FROM e_excepted JOIN evidence_items USING (item) WHERE circuits IS NOT NULL AND rests_on <> 'nothing'
    UNION ALL
    SELECT e_excepted.item, e_excepted.site_id, subject_kind, subject_id, rests_on, NULL
    FROM e_excepted JOIN evidence_items USING (item) WHERE circuits IS NULL AND subject_kind = 'controller'
        AND rests_on <> 'nothing'
), placed AS (
    SELECT resting.*, coalesce(e_circuits.controller_id, subject_id) AS controller_id
    FROM resting LEFT JOIN e_circuits USING (circuit_id)
), met AS (
    SELECT DISTINCT placed.item, placed.site_id, subject_kind, subject_id, fault, words
    FROM placed JOIN e_faults AS faults ON faults.site_id = placed.site_id
        AND (faults.controller_id IS NULL OR faults.controller_id = placed.controller_id)
        AND (faults.circuit_id IS NULL OR faults.circuit_id = placed.circuit_id)
    WHERE (rests_on = 'program' OR fault = 'stale')
        AND (fault NOT IN ('clock', 'unread') OR placed.circuit_id IS NULL OR placed.circuit_id IN (FROM stepped))
)
SELECT item, site_id, subject_kind, subject_id,
    string_agg(words, '; ' ORDER BY fault, words) FILTER (fault <> 'unread') AS faults,
    string_agg(words, '; ' ORDER BY words) FILTER (fault = 'unread') AS unread
FROM met GROUP BY ALL;

-- What a row rests on: its limits and windows, else the clause, each with mark, confidence and source.
CREATE OR REPLACE TEMP TABLE e_bases AS
WITH used AS (
    SELECT DISTINCT edition, item, limits FROM e_excepted JOIN (SELECT site_id, edition FROM e_sites) USING (site_id)
), named AS (
    SELECT edition, item, limits, unnest(limits) AS name FROM used
), facts AS (
    SELECT edition, item, limits, name, format('{} {} {}{}', bound, grouped(format('{:,.15g}', value)), unit,
        CASE name WHEN 'clock_hours' THEN ' for the clock' WHEN 'program_hours' THEN ' for the program' ELSE '' END) AS
            words, mark, confidence, source
    FROM named JOIN code_limits USING (edition, item, name)
    UNION ALL
    SELECT edition, item, limits, name, 'window ' || name, mark, confidence, source
    FROM named JOIN code_windows USING (edition, item, name)
)
SELECT edition, item, limits,
    string_agg(format('{}: {} ({} confidence; {})', words, mark, confidence, source), '; ' ORDER BY list_position(limits,
        name)) AS basis,
    array_to_string(list_distinct(list(words ORDER BY words) FILTER (mark = 'from memory, check')).list_sort(),
        '; ') AS memory_words,
    string_agg(words, '; ' ORDER BY list_position(limits, name)) FILTER (confidence = 'low') AS low_words
FROM facts GROUP BY edition, item, limits;

-- A fault of the export, or a figure of low confidence, never makes a row louder than insufficient: it takes away what
-- seemed to be shown. A clock that nobody read is said and takes nothing away: what is programmed is known without it.
INSERT INTO evidence_rows BY NAME
WITH told AS (
    SELECT e_excepted.*, edition, timezone, place, title, of_code, test, faults, unread, clause, basis, memory_words,
        low_words, code_items.mark, code_items.confidence, code_items.source,
        outcome = 'consistent' AND faults IS NOT NULL AS unsound,
        outcome IN ('consistent', 'not applicable') AND low_words IS NOT NULL AS doubtful,
        outcome IN ('consistent', 'contrary') OR len(e_excepted.limits) > 0 AS decides
    FROM e_excepted
    JOIN (SELECT site_id, edition, timezone FROM e_sites) USING (site_id)
    JOIN evidence_items USING (item)
    LEFT JOIN code_items USING (edition, item)
    LEFT JOIN e_bases USING (edition, item, limits)
    LEFT JOIN e_row_faults USING (item, site_id, subject_kind, subject_id)
), marked AS (
    SELECT *, of_code AND decides AND (coalesce(memory_words,
        '') <> '' OR mark = 'from memory, check') AS from_memory FROM told
)
SELECT site_id, edition, place, item, title, subject_kind, subject_id,
    CASE WHEN unsound OR doubtful THEN 'insufficient data' ELSE outcome END AS outcome,
    said
        || CASE WHEN doubtful THEN format(' But this rests on a figure of low confidence in this edition: {}. Take it '
        || 'from '
                || 'the adopted text first.', low_words) ELSE '' END
        || CASE WHEN unsound THEN format(' But this is no sound base: {}.', faults)
                WHEN outcome = 'contrary' AND faults IS NOT NULL THEN format(' Mind that {}.', faults) ELSE '' END
        || CASE WHEN outcome IN ('consistent', 'contrary') AND unread IS NOT NULL
                THEN format(' {}: these are the times of a right clock.', upper(unread[1]) || unread[2:]) ELSE '' END
        || CASE WHEN NOT from_memory THEN ''
                WHEN memory_words <> '' THEN format(' From memory, check: {} ({}).', memory_words, clause)
                ELSE format(' From memory, check: {}.', clause) END AS said,
    first_date, last_date, local(timezone, example_utc) AS example_local, minutes, kwh, clause,
    CASE WHEN of_code THEN concat_ws('; ', basis, format('{}: {} ({} confidence; {})', clause, mark, confidence,
        source)) END AS basis,
    from_memory, test, source_file, source_row
FROM marked;

INSERT INTO evidence_outcomes BY NAME
SELECT site_id, edition, place, item, evidence_rows.title, of_code, arg_min(outcome, loudness(outcome)) AS outcome,
    count(*) FILTER (outcome = 'contrary') AS contrary, count(*) FILTER (outcome = 'insufficient data') AS insufficient,
    count(*) FILTER (outcome = 'consistent') AS consistent, count(*) FILTER (outcome = 'not applicable') AS not_applicable
FROM evidence_rows JOIN (SELECT item, of_code FROM evidence_items) AS items USING (item)
GROUP BY site_id, edition, place, item, evidence_rows.title, of_code;
