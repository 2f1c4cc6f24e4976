-- The files that the audit read.
FROM inputs ORDER BY rowid
