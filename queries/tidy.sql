-- What only the run itself needed goes; what stays is named in schema.sql.
DROP TABLE clock_reach;
DROP TABLE clock_leave;
DROP TABLE site_numbers;
DROP TABLE sun_days;
DROP TABLE first_seen_before;
