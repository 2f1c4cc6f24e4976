-- not_evaluated.csv: where a rule could not look, and which column it lacked.
SELECT rule, cell(site_id) AS site_id, subject_kind, cell(subject_id) AS subject_id, missing
FROM not_evaluated AS unseen
ORDER BY rule, unseen.site_id, subject_kind, unseen.subject_id
