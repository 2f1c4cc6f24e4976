-- The store, second part: what the rules go by and what they find, as schema.sql has it.

-- Habits of the portfolio, for findings to go by ---------------------------------------------------------------

CREATE TABLE step_words (                -- every step in words
    controller_id VARCHAR, event_id VARCHAR,
    words VARCHAR,                       -- such as: step 0010 (on 5 min before sunset, every day)
    sourced VARCHAR                      -- the same with its file and row
);

CREATE TABLE circuit_anchors (           -- what moves a circuit: its own steps and those of the sensors on it
    circuit_id VARCHAR, by_clock BOOLEAN, by_sun BOOLEAN,
    residual_s BIGINT                    -- seconds, of its device's clock
);

CREATE TABLE off_habits (                -- when circuits of an area go off in the evening, or are set back; duties left out
    area VARCHAR, circuits BIGINT,
    circuits_with_hours BIGINT,          -- number of these whose site's hours are known
    half_minutes DOUBLE,                 -- half of them first go off within so many minutes after closing
    after_minutes DOUBLE, after_same BIGINT,    -- minutes after closing (to 5) that most have in common, and how many
    manner VARCHAR, manner_same BIGINT   -- the evening's clock step that most have in common, and how many
);

CREATE TABLE on_habits (                 -- what brings exterior circuits of an area on: a sun step or a photocontrol
    area VARCHAR, circuits BIGINT, same BIGINT, manner VARCHAR
);

CREATE TABLE peer_words (                -- the habits as sentences without a full stop; NULL: no habit to go by
    circuit_id VARCHAR,
    off_words VARCHAR, on_words VARCHAR,
    closing_words VARCHAR                -- when its site closes: 20:00 (Monday to Friday), 18:00 (Saturday)
);

-- Findings ---------------------------------------------------------------------------------------------------

CREATE TABLE applied_rules (             -- the rules that were not switched off
    rule VARCHAR PRIMARY KEY, title VARCHAR,
    severity VARCHAR                     -- the portfolio's choice, else the rule's own
);

CREATE TABLE thresholds (
    rule VARCHAR, name VARCHAR,
    value DOUBLE                         -- as applied, in the unit that the name ends in
);

CREATE TABLE verdicts (                  -- what the rules returned, as they returned it
    rule VARCHAR,
    money BOOLEAN,                       -- the rule's kwh is energy that could be saved
    rule_fix VARCHAR,                    -- device: at a desk where the device is remote
    rule_who VARCHAR,                    -- who is to do it even where a desk reaches it; NULL: nobody else
    site_id VARCHAR, subject_kind VARCHAR, subject_id VARCHAR,
    severity VARCHAR,
    minutes DOUBLE, kwh DOUBLE,          -- minutes and kWh in the period
    first_date DATE, last_date DATE,     -- local to the site
    summary VARCHAR, seen VARCHAR, remedy VARCHAR,
    missing VARCHAR                      -- not NULL: not evaluated, for want of this
);

CREATE TABLE findings (
    finding_id VARCHAR PRIMARY KEY,      -- the same from run to run for the same rule and subject
    rule VARCHAR, severity VARCHAR,
    status VARCHAR,                      -- open, waived or exempt
    first_seen DATE,
    site_id VARCHAR, controller_id VARCHAR, subject_kind VARCHAR, subject_id VARCHAR,
    summary VARCHAR, seen VARCHAR,
    minutes DOUBLE, kwh DOUBLE,          -- minutes and kWh in the period
    cost DOUBLE,                         -- money a year
    co2_kg DOUBLE,                       -- kg of CO2 in the period, by the portfolio's emission factor
    first_date DATE, last_date DATE,
    state VARCHAR,                       -- at the newest read_at: holds, begins or resumes on next_date, over; NULL: undated
    next_date DATE,                      -- local to the site; when it begins or resumes
    fix VARCHAR, remedy VARCHAR,
    who VARCHAR,                         -- who may do it: desk, site staff or qualified electrician
    status_reason VARCHAR,               -- why waived or exempt
    source_file VARCHAR, source_row BIGINT
);

CREATE TABLE soon (                      -- what begins within 60 days of the newest read_at; never what is waived or exempt
    date DATE,                           -- local to the site
    kind VARCHAR,                        -- finding (begins or resumes), clock (will be wrong), clock-unknown (may be),
                                         -- holiday (runs an ordinary program), calendar (its list has ended)
    site_id VARCHAR, controller_id VARCHAR, subject_kind VARCHAR, subject_id VARCHAR,
    what VARCHAR,                        -- in words
    severity VARCHAR, rule VARCHAR,      -- NULL where nothing is found, only to be looked at
    fix VARCHAR,                         -- remote or on-site
    finding_id VARCHAR                   -- NULL where no finding says so
);

CREATE TABLE not_evaluated (rule VARCHAR, site_id VARCHAR, subject_kind VARCHAR, subject_id VARCHAR, missing VARCHAR);

CREATE TABLE site_ranks (
    rank INTEGER, site_id VARCHAR,
    score DOUBLE,                        -- money-equivalents a year
    avoidable_kwh DOUBLE,                -- kWh in the period
    avoidable_cost DOUBLE,               -- money a year
    critical INTEGER, high INTEGER, medium INTEGER, low INTEGER,  -- open findings
    visit_needed BOOLEAN
);

CREATE TABLE rejected (
    source_file VARCHAR, source_row BIGINT, "column" VARCHAR, value VARCHAR, reason VARCHAR,
    site_id VARCHAR                      -- whose row it is, where it still says so
);

-- Waivers that stand at the newest reading; subject_id NULL: for the whole site.
CREATE VIEW standing_waivers AS
SELECT site_id, subject_id, rule, min(reason) AS waiver_reason
FROM waivers CROSS JOIN period
WHERE expires IS NULL OR expires >= newest_read_at_utc::DATE
GROUP BY site_id, subject_id, rule;

-- Listed dates for whose calendar no interior or sign circuit of a device has steps.
CREATE VIEW bare_listed_dates AS
WITH scope AS (
    SELECT circuit_id, controller_id, site_id
    FROM circuits JOIN controllers USING (controller_id)
    WHERE coalesce(in_use, true) AND area IN ('interior', 'sign')
), programmed AS (
    SELECT DISTINCT events.controller_id, calendar
    FROM (SELECT controller_id, calendar, unnest(targets) AS circuit_id FROM events WHERE calendar IS NOT NULL) AS events
    JOIN scope USING (circuit_id)
)
SELECT DISTINCT controller_id, scope.site_id, date, calendar
FROM scope JOIN site_closures USING (site_id) CROSS JOIN period
ANTI JOIN programmed USING (controller_id, calendar)
WHERE calendar IS NOT NULL AND date BETWEEN first_date AND first_date + days - 1;


-- Every subject that a rule may name, with its device and its row in the input.
CREATE VIEW subjects AS
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, controller_id, exempt_reason,
    coalesce(in_use, true) AS in_use, circuits.source_file, circuits.source_row
FROM circuits JOIN controllers USING (controller_id)
UNION ALL
SELECT site_id, 'sensor', sensor_id, controller_id, NULL, coalesce(in_use, true), sensors.source_file, sensors.source_row
FROM sensors JOIN controllers USING (controller_id)
UNION ALL
SELECT site_id, 'controller', controller_id, controller_id, NULL, true, source_file, source_row FROM controllers
UNION ALL
SELECT site_id, 'step', controller_id || '/' || event_id, controller_id, NULL, true, events.source_file, events.source_row
FROM events JOIN controllers USING (controller_id)
UNION ALL
SELECT site_id, 'site', site_id, NULL, NULL, true, source_file, source_row FROM sites;

-- Light that people rely on, and what switches it: nothing that is said of these may ask for less light.
CREATE VIEW relied_on AS
WITH lights AS (
    SELECT circuit_id, controller_id FROM circuits WHERE area IN ('egress', 'security') OR must_be_lit IS NOT NULL
), acting AS (
    SELECT DISTINCT sensor_id, controller_id
    FROM (SELECT sensor_id, controller_id, unnest(circuits) AS circuit_id FROM sensors)
    WHERE circuit_id IN (SELECT circuit_id FROM lights)
), switched AS (
    SELECT circuit_id AS target_id, controller_id FROM lights
    UNION ALL
    SELECT sensor_id, controller_id FROM acting
)
SELECT 'circuit' AS subject_kind, circuit_id AS subject_id FROM lights
UNION ALL
SELECT 'sensor', sensor_id FROM acting
UNION
SELECT 'controller', controller_id FROM switched
UNION
SELECT 'step', controller_id || '/' || event_id
FROM (SELECT controller_id, event_id, unnest(targets) AS target_id FROM events)
WHERE target_id IN (SELECT target_id FROM switched);
