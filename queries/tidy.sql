-- What only the run itself needed goes; what stays is named in schema.sql. A kept store is tidy already.
DROP TABLE IF EXISTS clock_reach;
DROP TABLE IF EXISTS clock_leave;
DROP TABLE IF EXISTS site_numbers;
DROP TABLE IF EXISTS sun_days;
DROP TABLE IF EXISTS unchanged_sites;
DROP TABLE IF EXISTS right_clock_devices;
