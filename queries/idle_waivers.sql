-- Waivers that match no finding of this run, expired ones too, with what is known of their subject.
WITH matched AS (
    SELECT waivers.source_file, waivers.source_row
    FROM waivers JOIN findings
        ON waivers.site_id = findings.site_id AND waivers.rule = findings.rule
        AND coalesce(waivers.subject_id = findings.subject_id, true)
), unseen AS (
    SELECT waivers.source_file, waivers.source_row
    FROM waivers JOIN not_evaluated AS judgement
        ON waivers.site_id = judgement.site_id AND waivers.rule = judgement.rule
        AND coalesce(waivers.subject_id = judgement.subject_id, true)
), places AS (
    SELECT subject_id, list(DISTINCT site_id ORDER BY site_id) AS site_ids FROM subjects GROUP BY subject_id
)
SELECT source_file, source_row, waivers.site_id, waivers.subject_id, rule,
    waivers.subject_id IS NULL OR coalesce(list_contains(site_ids, waivers.site_id), false) AS subject_known,
    site_ids[1] AS other_site,
    expires IS NULL OR expires >= newest_read_at_utc::DATE AS stands,
    (source_file, source_row) IN (SELECT (source_file, source_row) FROM unseen) AS not_evaluated
FROM waivers CROSS JOIN period LEFT JOIN places USING (subject_id)
WHERE (source_file, source_row) NOT IN (SELECT (source_file, source_row) FROM matched)
ORDER BY source_file, source_row
