-- All that another machine found out about the sites of a part, at hand as "earlier", in the order in which it was told
-- there.

INSERT INTO site_days BY NAME FROM earlier.site_days;
INSERT INTO site_spans BY NAME FROM earlier.site_spans;
INSERT INTO timeline BY NAME FROM earlier.timeline;
INSERT INTO exposures BY NAME FROM earlier.exposures;
INSERT INTO conflicts BY NAME FROM earlier.conflicts;
INSERT INTO silent_steps BY NAME FROM earlier.silent_steps;
INSERT INTO sun_shifts BY NAME FROM earlier.sun_shifts;
INSERT INTO suspensions BY NAME FROM earlier.suspensions;
INSERT INTO clock_errors BY NAME FROM earlier.clock_errors;
INSERT INTO circuit_figures BY NAME FROM earlier.circuit_figures;
INSERT INTO right_clock_timeline BY NAME FROM earlier.right_clock_timeline;
