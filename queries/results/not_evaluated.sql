-- not_evaluated.csv: where a rule could not look, and which column it lacked.
-- Words behind a column are its header in the workbook.
SELECT rule, site_id,
    subject_kind,       -- What it is about
    subject_id,         -- Which one
    missing             -- Missing column
FROM not_evaluated AS unseen
ORDER BY rule, unseen.site_id, subject_kind, unseen.subject_id
