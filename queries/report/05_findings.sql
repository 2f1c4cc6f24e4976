-- Findings with what a reader must know of their subject: name, load, duty, waiver.
CREATE OR REPLACE TEMP VIEW told_findings AS
WITH names AS (
    SELECT 'circuit' AS subject_kind, circuit_id AS subject_id, name, area, connected_watts, must_be_lit, exempt_reason
    FROM circuits
    UNION ALL
    SELECT 'sensor', sensor_id, kind, NULL, NULL, NULL, NULL FROM sensors
), matching AS (      -- a waiver of the subject itself goes before one of the whole site
    SELECT finding_id, waivers.* EXCLUDE (site_id, subject_id, rule),
        expires IS NULL OR expires >= newest_read_at_utc::DATE AS stands, waivers.subject_id IS NULL AS whole_site
    FROM findings
    JOIN waivers ON waivers.site_id = findings.site_id AND waivers.rule = findings.rule
        AND (waivers.subject_id IS NULL OR waivers.subject_id = findings.subject_id)
    CROSS JOIN period
), chosen AS (
    SELECT * FROM matching
    QUALIFY row_number() OVER (
        PARTITION BY finding_id ORDER BY stands DESC, whole_site, reason, expires DESC NULLS FIRST, source_row
    ) = 1
), losses AS (
    SELECT site_id, count(DISTINCT (source_file, source_row)) AS rows_lost FROM rejected GROUP BY site_id
)
SELECT findings.*, site_ranks.rank, sites.name AS site_name, region, coalesce(rows_lost, 0) AS rows_lost, names.* EXCLUDE (subject_kind, subject_id),
    coalesce(sites.rate_per_kwh, portfolio.rate_per_kwh) AS rate_per_kwh, days,
    CASE WHEN first_seen < newest_read_at_utc::DATE THEN first_seen END AS seen_since,   -- not new in this audit
    CASE WHEN stands THEN chosen.approved_by END AS approved_by,
    CASE WHEN stands THEN expires END AS waived_until,
    CASE WHEN NOT stands THEN expires END AS lapsed_on,
    CASE WHEN NOT stands THEN reason END AS lapsed_reason,
    CASE WHEN NOT stands THEN chosen.approved_by END AS lapsed_by
FROM findings
JOIN site_ranks USING (site_id)
JOIN sites USING (site_id)
CROSS JOIN portfolio
LEFT JOIN names USING (subject_kind, subject_id)
LEFT JOIN chosen USING (finding_id)
LEFT JOIN losses USING (site_id)
CROSS JOIN period
