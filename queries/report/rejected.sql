-- The first rows that were left out, in the order of rejected.csv.
SELECT source_file, source_row, "column" AS column_name, value, reason FROM rejected LIMIT $first_rows
