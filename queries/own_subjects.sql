-- Whom a user's rule may name, and whether people rely on light there: of a site, on any of its light.
WITH lit_sites AS (
    SELECT site_id FROM controllers
    WHERE controller_id IN (SELECT subject_id FROM relied_on WHERE subject_kind = 'controller')
)
SELECT site_id, subject_kind, subject_id,
    bool_and(in_use) AS in_use,
    (subject_kind, subject_id) IN (SELECT (subject_kind, subject_id) FROM relied_on)
        OR subject_kind = 'site' AND site_id IN (FROM lit_sites) AS relied_on,
    count(*) AS times
FROM subjects
GROUP BY site_id, subject_kind, subject_id
