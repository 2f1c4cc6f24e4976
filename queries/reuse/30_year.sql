-- What the run before knows of the year of a stretch of sites, in the order in which it was told there.
-- Reads batch(first_site_no, last_site_no). Threads that share a table do not keep its rows in order where they pick some
-- of them by another table: hence ORDER BY rowid.

CREATE TEMP TABLE known_sites AS
SELECT site_id FROM site_numbers JOIN batch ON site_no BETWEEN first_site_no AND last_site_no;
CREATE TEMP TABLE known_controllers AS SELECT controller_id FROM controllers WHERE site_id IN (FROM known_sites);
CREATE TEMP TABLE known_circuits AS SELECT circuit_id FROM circuits WHERE controller_id IN (FROM known_controllers);
CREATE TEMP TABLE known_sensors AS SELECT sensor_id FROM sensors WHERE controller_id IN (FROM known_controllers);

INSERT INTO site_days BY NAME FROM earlier.site_days WHERE site_id IN (FROM known_sites) ORDER BY rowid;
INSERT INTO site_spans BY NAME FROM earlier.site_spans WHERE site_id IN (FROM known_sites) ORDER BY rowid;
INSERT INTO timeline BY NAME FROM earlier.timeline WHERE circuit_id IN (FROM known_circuits) ORDER BY rowid;
INSERT INTO exposures BY NAME FROM earlier.exposures WHERE circuit_id IN (FROM known_circuits) ORDER BY rowid;
INSERT INTO conflicts BY NAME FROM earlier.conflicts
WHERE CASE subject_kind WHEN 'circuit' THEN subject_id IN (FROM known_circuits) ELSE subject_id IN (FROM known_sensors) END ORDER BY rowid;
INSERT INTO silent_steps BY NAME FROM earlier.silent_steps WHERE controller_id IN (FROM known_controllers) ORDER BY rowid;
INSERT INTO sun_shifts BY NAME FROM earlier.sun_shifts WHERE controller_id IN (FROM known_controllers) ORDER BY rowid;
INSERT INTO suspensions BY NAME FROM earlier.suspensions WHERE sensor_id IN (FROM known_sensors) ORDER BY rowid;
INSERT INTO clock_errors BY NAME FROM earlier.clock_errors WHERE controller_id IN (FROM known_controllers) ORDER BY rowid;
INSERT INTO circuit_figures BY NAME FROM earlier.circuit_figures WHERE site_id IN (FROM known_sites) ORDER BY rowid;
