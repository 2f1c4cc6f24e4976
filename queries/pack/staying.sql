-- Circuits that must stay lit whatever is tested, in use or not, for a device switches both: egress and security, a duty
-- to light or a claimed exemption, a name that hints at any of these, and all that hangs at a site where people are cared
-- for. Parts of words count, in any case: one circuit too many is named sooner than one too few.
WITH hinted AS (
    SELECT sites.site_id, circuits.*,
        nullif(regexp_extract(lower(coalesce(circuits.name, '')), way_out_words() || '|' || care_words(), 0, 'i'), '') AS hint,
        regexp_matches(concat_ws(' ', site_type, sites.name), care_words(), 'i') AS for_care
    FROM circuits
    JOIN controllers USING (controller_id)
    JOIN sites ON sites.site_id = controllers.site_id
    JOIN report_sites ON report_sites.site_id = sites.site_id
), told AS (
    SELECT *, nullif(concat_ws(', ',
        CASE WHEN area IN ('egress', 'security') THEN area END,
        'must be lit: ' || must_be_lit,
        CASE WHEN exempt_reason IS NOT NULL THEN 'claimed exempt' END,
        CASE WHEN hint IS DISTINCT FROM area THEN 'its name says ' || hint END,
        CASE WHEN for_care THEN 'a site for care, by its name or type' END), '') AS why
    FROM hinted
)
SELECT site_id, circuit_id, controller_id, why, source_file, source_row
FROM told
WHERE why IS NOT NULL
ORDER BY site_id, source_row, circuit_id
