-- The sites that are asked about, their circuits, and whatever claims that a light must not go out.

CREATE OR REPLACE TEMP TABLE e_sites AS
SELECT sites.site_id, edition, timezone, lower(trim(site_type)) AS site_type, sites.source_file, sites.source_row,
    CASE WHEN regexp_matches(site_type, care_words(), 'i') THEN site_type    -- people may be cared for here
         WHEN regexp_matches(name, care_words(), 'i') THEN name END AS care_words,
    sites.site_id IN (SELECT site_id FROM hours) AS hours_known,
    'sensors' IN (SELECT unnest(holds) FROM inputs) AS sensors_known,   -- the table is there, whosever rows it has
    start_s, end_s                                         -- the audited period
FROM evidence_asked
JOIN sites USING (site_id)
JOIN (SELECT site_id, min(epoch_us(start_utc)) // 1000000 AS start_s, max(epoch_us(end_utc)) // 1000000 AS end_s
      FROM site_days GROUP BY site_id) AS days USING (site_id);

-- Dates of the audited period on which a site that is asked about is closed. In two parts, for "own or every" would be
-- asked of all pairs.
CREATE OR REPLACE TEMP TABLE e_closures AS
WITH listed AS (
    SELECT site_id, date, calendar, false AS every_site, closures.source_file, closures.source_row
    FROM closures JOIN e_sites USING (site_id)
    UNION ALL
    SELECT e_sites.site_id, date, calendar, true, closures.source_file, closures.source_row
    FROM closures CROSS JOIN e_sites WHERE closures.site_id = '*'
)
SELECT listed.*, epoch_us(start_utc) // 1000000 AS day_start_s, epoch_us(end_utc) // 1000000 AS day_end_s
FROM listed JOIN site_days USING (site_id, date);

-- Sensors left out of service: by the longest stretch of those of more than a day, as the rule of findings has it.
CREATE OR REPLACE TEMP TABLE e_suspended AS
SELECT sensor_id, min(start_utc) AS first_utc, arg_max({'starts': start_utc, 'ends': end_utc, 'event_id': event_id},
    (seconds(start_utc, end_utc), -epoch(start_utc))) AS longest
FROM suspensions
WHERE seconds(start_utc, end_utc) > coalesce(threshold('sensor-left-suspended', 'suspended_hours'), 24) * 3600
GROUP BY sensor_id;

CREATE OR REPLACE TEMP TABLE e_acting AS   -- which sensor in use acts on which circuit
SELECT circuit_id, sensor_id, kind, timeout_minutes, sensor_id IN (SELECT sensor_id FROM e_suspended) AS left_out
FROM (SELECT sensor_id, kind, timeout_minutes, unnest(circuits) AS circuit_id FROM sensors WHERE coalesce(in_use, true));

CREATE OR REPLACE TEMP TABLE e_steps AS    -- the steps of every circuit, those of calendars too
SELECT circuit_id, controller_id, event_id, action, anchor, time_s, days_mask, calendar, source_file, source_row, row_no,
    CASE action WHEN 'on' THEN 100 WHEN 'off' THEN 0 ELSE level END AS level,
    concat_ws(' ', CASE action WHEN 'on' THEN 100 WHEN 'off' THEN 0 ELSE level END, anchor, time_s,
        coalesce(offset_s, 0), season_from, season_until) AS words
FROM (SELECT *, unnest(targets) AS circuit_id FROM events WHERE action IN ('on', 'off', 'level'));

-- Egress and security lighting, duties, claimed exemptions and circuits whose name hints at a way out, at security or at
-- care are never said to be contrary for burning. A duty to light while it is dark says nothing about the day, and one to light while it
-- is open nothing about the time after closing. A claim takes an item away only with a reason (exempt_reason) and
-- somebody who looked at it: a standing waiver of the circuit or its site with a name in approved_by. Else the item is
-- left open.
CREATE OR REPLACE TEMP TABLE e_claims AS
WITH reviews AS (
    SELECT circuit_id,
        arg_min({'who': approved_by, 'file': waivers.source_file, 'row': waivers.source_row},
            (waivers.subject_id IS NULL, waivers.source_row)) AS review
    FROM circuits JOIN controllers USING (controller_id)
    JOIN waivers ON waivers.site_id = controllers.site_id AND coalesce(subject_id, circuit_id) = circuit_id
    CROSS JOIN period
    WHERE trim(coalesce(approved_by, '')) <> '' AND (expires IS NULL OR expires >= newest_read_at_utc::DATE)
    GROUP BY circuit_id
), declared AS (
    SELECT circuit_id, review, exempt_reason,
        nullif(concat_ws(' and ',
            CASE WHEN area IN ('egress', 'security') THEN 'area ' || area END,
            CASE WHEN must_be_lit IN ('always', 'dark') THEN 'must_be_lit ' || must_be_lit END,   -- while open: no claim
            'exempt_reason "' || exempt_reason || '"'), '') AS declared,
        CASE WHEN area NOT IN ('egress', 'security')
            AND regexp_matches(name, way_out_words() || '|' || care_words(), 'i')
            THEN format('name "{}"', name) END AS hint,
        area IN ('egress', 'security') OR exempt_reason IS NOT NULL OR hint IS NOT NULL AS claimed,
        exempt_reason IS NOT NULL AND review IS NOT NULL AS stands
    FROM circuits LEFT JOIN reviews USING (circuit_id)
)
SELECT circuit_id, declared, nullif(concat_ws(' and ', declared, hint), '') AS claim, claimed, review,
    CASE WHEN stands THEN 'not applicable' ELSE 'insufficient data' END AS claim_outcome,
    CASE WHEN stands THEN format('Claimed exempt by {}; looked at by {} ({}, row {:d}).', declared, review.who,
        review.file,
            review.row)
         ELSE concat_ws(' ',
            format('Claimed exempt by {}, but {}.', declared, concat_ws(' and ',
                CASE WHEN exempt_reason IS NULL THEN 'no reason is given in exempt_reason' END,
                CASE WHEN review IS NULL THEN 'nobody is named who looked at it (no standing waiver of it or of its '
                    || 'site has a name)' END)),
            format('Its {} hints at emergency, egress, security or care lighting: is it? Go and see, and enter it in '
                || 'area or exempt_reason.', hint))
    END AS claim_words
FROM declared;

CREATE OR REPLACE TEMP TABLE e_circuits AS
WITH sensed AS (
    SELECT circuit_id,
        count(*) FILTER (kind = 'photocontrol') AS photocontrols,
        string_agg(sensor_id, ', ' ORDER BY sensor_id) FILTER (kind = 'photocontrol' AND NOT left_out) AS
            controlled_by,
        count(*) FILTER (kind = 'occupancy') AS occupancy_sensors,
        max(timeout_minutes) FILTER (kind = 'occupancy') AS longest_timeout_minutes,
        count(*) FILTER (kind = 'occupancy' AND timeout_minutes IS NULL) AS unknown_timeouts,
        string_agg(sensor_id, ', ' ORDER BY sensor_id) FILTER (kind = 'occupancy') AS occupancy_ids,
        string_agg(sensor_id, ', ' ORDER BY sensor_id) FILTER (kind = 'photocontrol') AS photocontrol_ids
    FROM e_acting GROUP BY circuit_id
), stepped AS (
    SELECT circuit_id, count(*) AS steps, bool_or(anchor <> 'clock') AS by_sun, max(level) AS highest_level,
        bool_or(level > 0 AND level < 100) AS dims
    FROM e_steps GROUP BY circuit_id
)
SELECT circuits.* EXCLUDE (hold, in_use), e_sites.* EXCLUDE (source_file, source_row),
    coalesce(circuits.hold, controllers.hold) AS held, controllers.read_at_utc,
    -- photocontrols in service, by which the light goes off
    coalesce(photocontrols, 0) AS photocontrols, controlled_by,
    CASE WHEN controllers.controller_id NOT IN (SELECT controller_id FROM sensors)
        THEN absence_words('device ' || controllers.controller_id) ELSE '' END AS absence_words,
    coalesce(occupancy_sensors, 0) AS occupancy_sensors,
    longest_timeout_minutes, coalesce(unknown_timeouts, 0) AS unknown_timeouts, occupancy_ids, photocontrol_ids,
    coalesce(steps, 0) AS steps, coalesce(by_sun, false) AS by_sun, highest_level, coalesce(dims, false) AS dims,
    claim, declared, claim_words, claim_outcome, review,
    claimed OR coalesce(must_be_lit = 'always', false) AS claimed_by_day,
    claimed OR coalesce(must_be_lit IN ('always', 'dark'), false) AS claimed_at_night
FROM circuits
JOIN e_claims USING (circuit_id)
JOIN controllers USING (controller_id)
JOIN e_sites USING (site_id)
LEFT JOIN sensed USING (circuit_id)
LEFT JOIN stepped USING (circuit_id)
WHERE coalesce(circuits.in_use, true);

CREATE OR REPLACE TEMP TABLE e_scope AS    -- the circuits that each item is about, by the areas of the edition
SELECT item, e_circuits.*
FROM e_circuits JOIN code_items USING (edition)
WHERE asked AND list_contains(areas, area);

CREATE OR REPLACE TEMP TABLE e_controllers AS
SELECT item, controllers.* EXCLUDE (latitude, longitude), edition, timezone, start_s, end_s,
    controllers.latitude AS set_latitude,
    controller_id IN (SELECT controller_id FROM events WHERE anchor <> 'clock') AS astronomic
FROM controllers
JOIN e_sites USING (site_id)
JOIN code_items USING (edition)
WHERE asked;

-- What a device is programmed to do on each day of the week, by what is in force and not by how it is spelled. A season
-- that holds all year, the order of rows of different times, and a step that changes nothing make no other program.

-- Dates by the seasons in force on them; a device without seasons has no rows, and one phase: none in force.
CREATE OR REPLACE TEMP TABLE e_phases AS
WITH seasons AS (
    SELECT DISTINCT controller_id, season_from, season_until FROM events WHERE season_from IS NOT NULL AND calendar IS NULL
)
SELECT controller_id, date, coalesce(list(season_from || '/' || season_until ORDER BY season_from, season_until)
    FILTER (in_season(epoch_day(date), replace(season_from, '-', '')::INTEGER, replace(season_until, '-', '')::INTEGER)),
        []) AS phase
FROM seasons JOIN controllers USING (controller_id) JOIN e_sites USING (site_id) JOIN site_days USING (site_id)
GROUP BY controller_id, date;

CREATE OR REPLACE TEMP TABLE e_day_programs AS
WITH steps AS (
    SELECT controller_id, unnest(targets) AS target, event_id, row_no, days_mask, anchor, season_from, season_until,
        source_file, source_row, CASE anchor WHEN 'clock' THEN time_s ELSE coalesce(offset_s, 0) END AS at_s,
        CASE action WHEN 'on' THEN 100 WHEN 'suspend' THEN 100 WHEN 'level' THEN level ELSE 0 END AS level
    FROM events WHERE calendar IS NULL
), phases AS (          -- with the days of the week that come in them
    SELECT controller_id, phase, bit_or(1 << weekday(epoch_day(date))) AS days_of FROM e_phases GROUP BY controller_id, phase
    UNION ALL
    SELECT controller_id, []::VARCHAR[], 127 FROM controllers JOIN e_sites USING (site_id)
    WHERE controller_id NOT IN (SELECT controller_id FROM e_phases)
), firing AS (          -- of two steps at one time the later in program order wins
    SELECT steps.*, phase, weekday
    FROM steps JOIN phases USING (controller_id) CROSS JOIN (SELECT unnest(range(0, 7)) AS weekday)
    WHERE ((days_mask & days_of) >> weekday) & 1 = 1
        AND (season_from IS NULL OR list_contains(phase, season_from || '/' || season_until))
    QUALIFY row_number() OVER (PARTITION BY controller_id, target, phase, weekday, anchor, at_s ORDER BY row_no DESC) = 1
), by_clock AS (        -- where no sun moves the order of steps, what each of them finds is known
    SELECT *, bool_and(anchor = 'clock') OVER (PARTITION BY controller_id, target, phase) AS ordered,
        lag(level) OVER day AS found, last_value(level) OVER (day ROWS BETWEEN UNBOUNDED PRECEDING AND UNBOUNDED FOLLOWING)
            AS left_at
    FROM firing WINDOW day AS (PARTITION BY controller_id, target, phase, weekday ORDER BY at_s, row_no)
), begun AS (           -- a day begins dark where every day of the week with steps ends so
    SELECT *, coalesce(found, CASE WHEN max(left_at) OVER (PARTITION BY controller_id, target, phase) = 0 THEN 0 END) AS finds
    FROM by_clock
)
SELECT controller_id, target, phase, weekday, max(level) > 0 AS lights,
    string_agg(concat_ws(' ', anchor, at_s, level), ', ' ORDER BY anchor, at_s) AS program,
    arg_min({'event_id': event_id, 'file': source_file, 'row': source_row}, source_row) FILTER (level > 0) AS first_on
FROM begun WHERE NOT (ordered AND coalesce(finds = level, false))
GROUP BY controller_id, target, phase, weekday;
