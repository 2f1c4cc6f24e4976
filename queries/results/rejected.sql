-- rejected.csv: every input row that was left out, and why, in the order of the tables.
SELECT cell(source_file) AS source_file, source_row, cell("column") AS "column", cell(value) AS value, cell(reason) AS reason
FROM rejected
