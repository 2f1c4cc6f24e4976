-- The runs that this store remembers, this one last; none without a store.
SELECT * FROM runs ORDER BY run_date
