-- rejected.csv: every input row that was left out, and why, in the order of the tables.
-- Words behind a column are its header in the workbook.
SELECT source_file,
    source_row,         -- Row in the source file
    "column", value, reason
FROM rejected
