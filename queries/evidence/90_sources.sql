-- Where each row comes from: the rows of the input tables that its item reads, about the circuits, the device or the site
-- that it is about. Of steps all that act on a circuit, or on a sensor of it: what one step leaves the next one takes up.

DELETE FROM evidence_sources;

INSERT INTO evidence_sources BY NAME
WITH told AS (
    SELECT e_excepted.item, place, e_excepted.site_id, subject_kind, subject_id, circuits, reads
    FROM e_excepted JOIN evidence_items USING (item)
), keys AS (          -- what each row is about
    SELECT * EXCLUDE (circuits), 'circuit' AS key_kind, unnest(circuits) AS key FROM told
    UNION ALL BY NAME
    SELECT * EXCLUDE (circuits), 'device' AS key_kind, subject_id AS key FROM told WHERE subject_kind = 'controller'
    UNION ALL BY NAME
    SELECT * EXCLUDE (circuits), 'site' AS key_kind, site_id AS key FROM told
), steps AS (         -- by what they act on
    SELECT unnest(targets) AS target, source_file, source_row FROM events
), acting AS (
    SELECT sensor_id, unnest(circuits) AS circuit_id, source_file, source_row FROM sensors WHERE coalesce(in_use, true)
), input_rows AS (
    SELECT 'sites' AS input, 'site' AS key_kind, site_id AS key, source_file, source_row FROM sites
    UNION ALL
    SELECT 'controllers', 'device', controller_id, source_file, source_row FROM controllers
    UNION ALL
    SELECT 'circuits', 'circuit', circuit_id, source_file, source_row FROM circuits
    UNION ALL
    SELECT 'events', 'device', controller_id, source_file, source_row FROM events
    UNION ALL
    SELECT 'events', 'circuit', target, source_file, source_row FROM steps
    UNION ALL
    SELECT 'events', 'circuit', circuit_id, steps.source_file,
        steps.source_row FROM acting JOIN steps ON target = sensor_id
    UNION ALL
    SELECT 'sensors', 'circuit', circuit_id, source_file, source_row FROM acting
    UNION ALL
    SELECT 'hours', 'site', site_id, source_file, source_row FROM hours
    UNION ALL
    SELECT 'closures', 'site', site_id, source_file, source_row FROM e_closures
    UNION ALL
    SELECT 'waivers', CASE WHEN subject_id IS NULL THEN 'site' ELSE 'circuit' END, coalesce(subject_id, site_id),
        source_file, source_row
    FROM waivers
)
SELECT site_id, place, item, subject_kind, subject_id, input, source_file,
    list(DISTINCT source_row ORDER BY source_row) AS source_rows
FROM keys JOIN input_rows USING (key_kind, key)
WHERE list_contains(reads, input) OR input = 'sites' AND subject_kind = 'site'
GROUP BY ALL;
