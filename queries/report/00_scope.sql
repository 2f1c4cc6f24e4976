-- What the site sections speak of: sites with an open finding, and the circuits whose program their findings touch.

CREATE OR REPLACE TEMP TABLE report_sites AS
SELECT DISTINCT site_id FROM findings WHERE status = 'open';

-- A late export and a short backup say nothing about programs; every other finding about a device touches them all.
CREATE OR REPLACE TEMP TABLE report_circuits AS
WITH shown AS (
    SELECT * FROM findings WHERE site_id IN (FROM report_sites)
), faulty_steps AS (
    SELECT events.controller_id, action, unnest(targets) AS target
    FROM shown JOIN events ON subject_kind = 'step' AND subject_id = events.controller_id || '/' || event_id
), faulty_sensors AS (
    SELECT subject_id AS sensor_id FROM shown WHERE subject_kind = 'sensor'
    UNION
    SELECT target FROM faulty_steps WHERE action IN ('suspend', 'resume')
), touched AS (
    SELECT subject_id AS circuit_id FROM shown WHERE subject_kind = 'circuit'
    UNION
    SELECT target FROM faulty_steps WHERE action NOT IN ('suspend', 'resume')
    UNION
    SELECT unnest(circuits) FROM sensors JOIN faulty_sensors USING (sensor_id)
    UNION
    SELECT circuit_id FROM shown JOIN circuits USING (controller_id)
    WHERE subject_kind = 'controller' AND rule NOT IN ('short-backup', 'stale-export')
)
SELECT circuits.* FROM circuits JOIN touched USING (circuit_id)
WHERE coalesce(in_use, true);
