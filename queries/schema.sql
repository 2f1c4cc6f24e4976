-- The store. Input tables first, as read (blank = unknown = NULL); then what the audit adds.
-- Names end in their unit: _s whole seconds, _utc an instant in UTC, _local what a clock shows, _minutes, _kwh.

CREATE TYPE span_kind AS ENUM (  -- what can hold at a site
    'light', 'daylight', 'open', 'night', 'dark',
    'wide', 'closed',           -- opening hours with their margin, and the time outside these
    'staff', 'listed',          -- the margin before opening or after closing; a date that closures list
    'dark-open', 'daylight-closed', 'dark-staff', 'closed-listed',   -- two at once
    'duty-always', 'duty-dark', 'duty-open'                          -- when a duty asks for light
);

-- Audit ------------------------------------------------------------------------------------------------------

CREATE TABLE period (
    first_date DATE,               -- first audited date, local to each site
    days INTEGER,                  -- number of audited dates
    newest_read_at_utc TIMESTAMP,  -- newest read_at of the portfolio
    daylight_margin_s INTEGER,     -- daylight starts this long after sunrise and ends this long before sunset
    hours_margin_s INTEGER,        -- opening hours are widened by this at both ends before "closed" counts
    staff_margin_s INTEGER         -- people arrive and leave within this of opening hours
);

CREATE TABLE portfolio (
    name VARCHAR,
    currency VARCHAR,
    rate_per_kwh DOUBLE,           -- money a kWh where the site gives none
    energy_code VARCHAR,           -- code edition where the site gives none
    emission_kg_per_kwh DOUBLE,
    emission_source VARCHAR,
    score_critical DOUBLE, score_high DOUBLE, score_medium DOUBLE, score_low DOUBLE  -- money-equivalents a finding
);

CREATE TABLE visit_settings (            -- what a plan of visits reckons with
    first_minutes DOUBLE,                -- minutes of every stop before work begins and after it ends
    clock_minutes DOUBLE, program_minutes DOUBLE, hand_minutes DOUBLE, sensor_minutes DOUBLE,    -- minutes a finding
    backup_minutes DOUBLE, look_minutes DOUBLE, other_minutes DOUBLE,                            -- minutes a finding
    speed_kmh DOUBLE,                    -- kilometres an hour on the road
    detour_factor DOUBLE,                -- roads are so many times as long as the great circle
    day_hours DOUBLE,                    -- a crew's day, driving included
    start_minutes DOUBLE,                -- minutes after 00:00 at which a day begins
    cost_per_visit DOUBLE                -- money a visit; NULL: not given
);

-- Input ------------------------------------------------------------------------------------------------------

CREATE TABLE sites (
    site_id VARCHAR PRIMARY KEY,
    name VARCHAR, address VARCHAR, region VARCHAR, site_type VARCHAR,
    latitude DOUBLE, longitude DOUBLE,   -- degrees north, degrees east (WGS 84)
    timezone VARCHAR,                    -- IANA name, given or looked up
    timezone_looked_up BOOLEAN,          -- true: found from the coordinates
    energy_code VARCHAR,
    rate_per_kwh DOUBLE,                 -- money a kWh
    source_file VARCHAR, source_row BIGINT
);

CREATE TABLE controllers (
    controller_id VARCHAR PRIMARY KEY, site_id VARCHAR,
    read_at_utc TIMESTAMP,
    clock_reading_local TIMESTAMP,       -- what the device showed at read_at
    utc_offset_s BIGINT,                 -- standard-time offset set in the device
    dst_rule VARCHAR,
    latitude DOUBLE, longitude DOUBLE,   -- location set in the device, degrees
    hold VARCHAR,
    remote BOOLEAN,
    clock_backup_hours DOUBLE,
    last_contact_utc TIMESTAMP,
    source_file VARCHAR, source_row BIGINT
);

CREATE TABLE circuits (
    circuit_id VARCHAR PRIMARY KEY, controller_id VARCHAR,
    name VARCHAR, area VARCHAR,
    connected_watts DOUBLE,
    combine VARCHAR, hold VARCHAR, in_use BOOLEAN,
    override_minutes DOUBLE, floor_area_m2 DOUBLE, luminaire_watts DOUBLE, mounting_height_m DOUBLE,
    must_be_lit VARCHAR, exempt_reason VARCHAR,
    source_file VARCHAR, source_row BIGINT
);

CREATE TABLE sensors (
    sensor_id VARCHAR PRIMARY KEY, controller_id VARCHAR,
    kind VARCHAR, circuits VARCHAR[], timeout_minutes DOUBLE, in_use BOOLEAN,
    source_file VARCHAR, source_row BIGINT
);

CREATE TABLE events (
    event_id VARCHAR, controller_id VARCHAR,
    targets VARCHAR[], action VARCHAR,
    level DOUBLE,                        -- 0 to 100, with the action level
    days_mask BIGINT,                    -- Monday 1, Tuesday 2, Wednesday 4 … Sunday 64
    anchor VARCHAR,
    time_s BIGINT,                       -- time of day on the device's clock, seconds after 00:00
    offset_s BIGINT,                     -- seconds after the sun's crossing, negative before it
    season_from VARCHAR, season_until VARCHAR,  -- MM-DD or dates, inclusive
    calendar VARCHAR,
    source_file VARCHAR, source_row BIGINT,     -- the order of the rows is the program order
    PRIMARY KEY (controller_id, event_id)
);

CREATE TABLE hours (
    site_id VARCHAR,
    days_mask BIGINT,                    -- Monday 1, Tuesday 2, Wednesday 4 … Sunday 64
    opens_s BIGINT, closes_s BIGINT,     -- seconds after 00:00; closes at or before opens = past midnight
    source_file VARCHAR, source_row BIGINT
);

CREATE TABLE closures (site_id VARCHAR, date DATE, calendar VARCHAR, source_file VARCHAR, source_row BIGINT);

CREATE TABLE waivers (
    site_id VARCHAR, subject_id VARCHAR, rule VARCHAR, reason VARCHAR, approved_by VARCHAR, expires DATE,
    source_file VARCHAR, source_row BIGINT
);

CREATE TABLE actions (
    finding_id VARCHAR, date DATE, "by" VARCHAR, disposition VARCHAR, note VARCHAR,
    source_file VARCHAR, source_row BIGINT
);

-- Clocks -----------------------------------------------------------------------------------------------------

CREATE TABLE clocks (clock_no INTEGER PRIMARY KEY, clock VARCHAR);  -- a zone's law, or a rule set in a device

CREATE TABLE clock_offsets (             -- shown time = true time + offset, from start to end
    clock_no INTEGER, start_s BIGINT, end_s BIGINT, offset_s BIGINT
);

CREATE TABLE device_clocks (             -- a device shows true time + offset of its clock + residual
    controller_id VARCHAR PRIMARY KEY, clock_no INTEGER, residual_s BIGINT
);

-- Sun --------------------------------------------------------------------------------------------------------

CREATE TABLE sun_days (                  -- at x days from 12:00 UTC: c0 + c1 x + c2 x²
    day INTEGER PRIMARY KEY,             -- days since 1970-01-01
    decl0 DOUBLE, decl1 DOUBLE, decl2 DOUBLE,   -- declination, degrees
    eqt0 DOUBLE, eqt1 DOUBLE, eqt2 DOUBLE       -- equation of time, minutes
);

-- The year ---------------------------------------------------------------------------------------------------

CREATE TABLE site_days (                 -- every audited date of a site
    site_id VARCHAR, date DATE,
    start_utc TIMESTAMP, end_utc TIMESTAMP
);

CREATE TABLE site_spans (                -- when something holds at a site, merged
    site_id VARCHAR,
    kind VARCHAR,                        -- light, open, night (the night window of the date on which it ends)
    start_utc TIMESTAMP, end_utc TIMESTAMP
);

CREATE TABLE timeline (                  -- every circuit in use, the whole period without gaps
    circuit_id VARCHAR, start_utc TIMESTAMP, end_utc TIMESTAMP,
    level DOUBLE,                        -- 0 to 100
    conditional BOOLEAN                  -- true: on only if somebody is there
);

CREATE TABLE exposures (                 -- uninterrupted stretches in which a circuit does what may be wrong
    circuit_id VARCHAR,
    kind VARCHAR,                        -- lit-in-daylight, lit-at-night, dark-while-open, dark-around-closing,
                                         -- duty-not-met, lit-on-listed-date (interior and signs, while closed),
                                         -- lit-while-closed (interior; the longest stretch alone)
    start_utc TIMESTAMP, end_utc TIMESTAMP,
    span_start_utc TIMESTAMP, span_end_utc TIMESTAMP,  -- the daylight, night window, ... in which it lies
    level DOUBLE,                        -- 0 to 100, the highest
    event_id VARCHAR,                    -- the step that last fired on the circuit when it began
    end_event_id VARCHAR                 -- the step that ends it; NULL where light, a sensor or the span's end does
);

CREATE TABLE suspensions (               -- a sensor out of service, cut at the end of the period
    sensor_id VARCHAR, start_utc TIMESTAMP, end_utc TIMESTAMP,
    event_id VARCHAR                     -- the step that suspends it
);

CREATE TABLE conflicts (                 -- steps that fire on one target at one instant and disagree
    subject_kind VARCHAR, subject_id VARCHAR,
    times BIGINT,                        -- instants in the period
    first_utc TIMESTAMP, last_utc TIMESTAMP,
    event_ids VARCHAR[]                  -- the steps at the first of them, in program order
);

CREATE TABLE silent_steps (controller_id VARCHAR, event_id VARCHAR);  -- fire on no target within 366 days

CREATE TABLE sun_shifts (                -- a device whose set location is not the site's, with steps by the sun
    controller_id VARCHAR,
    kind VARCHAR,                        -- sunrise or sunset
    shifts_s INTEGER[],                  -- device's minus site's event, of each audited date that has both
    dates DATE[]                         -- these dates, on the device's clock
);

CREATE TABLE clock_errors (              -- what a device shows minus what the site's zone shows
    controller_id VARCHAR, start_utc TIMESTAMP, end_utc TIMESTAMP,
    error_s BIGINT,
    whole_dates INTEGER,                 -- audited local dates that lie wholly within
    first_date DATE, last_date DATE      -- the first and last of these
);

CREATE TABLE circuit_figures (           -- the period's figures of every circuit in use; NULL = not known
    site_id VARCHAR, controller_id VARCHAR, circuit_id VARCHAR,
    on_minutes DOUBLE,                   -- minutes programmed on
    conditional_minutes DOUBLE,          -- minutes on only if somebody is there
    daylight_minutes DOUBLE,             -- minutes on in daylight
    closed_minutes DOUBLE,               -- minutes on while the site is closed (widened hours)
    curfew_minutes DOUBLE,               -- minutes on in the night window
    dark_open_minutes DOUBLE,            -- minutes off while it is dark and the site is open; exterior only
    kwh DOUBLE,                          -- kWh: level x connected load x time
    avoidable_kwh DOUBLE,                -- kWh in daylight or while closed, as the area has it
    daylight_kwh DOUBLE, closed_kwh DOUBLE, curfew_kwh DOUBLE,  -- kWh of that on-time
    site_closed_minutes DOUBLE,          -- minutes that the site is closed (widened hours)
    night_windows INTEGER,               -- number of night windows of the site in the period
    cost DOUBLE,                         -- money for kwh, in the period
    avoidable_cost DOUBLE,               -- money for avoidable_kwh, in the period
    off_after_closing_minutes DOUBLE     -- minutes from closing until it first goes off, the median of all closings;
                                         -- 0: off by then; up to the next opening where it stays on
);

-- Of the errors that hold on at least one whole audited date: how many there are, and the one nearest zero.
CREATE VIEW clock_verdicts AS
SELECT controller_id, count(DISTINCT error_s) AS errors, arg_min(error_s, (abs(error_s), error_s)) AS nearest_s
FROM clock_errors WHERE whole_dates > 0
GROUP BY controller_id;

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
    rule_who VARCHAR,                    -- who may do it where no desk reaches it
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
FROM scope JOIN closures ON closures.site_id IN (scope.site_id, '*') CROSS JOIN period
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
