-- The store. Input tables first, as read (blank = unknown = NULL); then the
-- year that the audit adds. Findings have their tables in schema_findings.sql, memory its own in memory/schema.sql.
-- Names end in their unit: _s whole seconds, _utc an instant in UTC, _local what a clock shows, _minutes, _kwh.

CREATE TYPE span_kind AS ENUM (  -- what can hold at a site; a bare text in the same UNION or VALUES makes text of all
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
    source_file VARCHAR, source_row BIGINT,
    row_no BIGINT,                       -- place among all rows read: the program order
    program_sha256 VARCHAR,              -- of the calendar or object that the step was worked out from; NULL: it stands in its row
    PRIMARY KEY (controller_id, event_id)
);

CREATE TABLE hours (
    site_id VARCHAR,
    days_mask BIGINT,                    -- Monday 1, Tuesday 2, Wednesday 4 … Sunday 64
    opens_s BIGINT, closes_s BIGINT,     -- seconds after 00:00; closes at or before opens = past midnight
    source_file VARCHAR, source_row BIGINT
);

CREATE TABLE closures (site_id VARCHAR, date DATE, calendar VARCHAR, source_file VARCHAR, source_row BIGINT);

-- Site by site, those of all sites among them; in two parts, for "own or every" would be asked of all pairs.
CREATE VIEW site_closures AS
SELECT sites.site_id, date, calendar FROM closures JOIN sites USING (site_id)
UNION ALL
SELECT sites.site_id, date, calendar FROM closures CROSS JOIN sites WHERE closures.site_id = '*';

CREATE TABLE waivers (
    site_id VARCHAR, subject_id VARCHAR, rule VARCHAR, reason VARCHAR, approved_by VARCHAR, expires DATE,
    source_file VARCHAR, source_row BIGINT
);

CREATE TABLE actions (
    finding_id VARCHAR, date DATE, "by" VARCHAR, disposition VARCHAR, note VARCHAR,
    source_file VARCHAR, source_row BIGINT
);

CREATE TABLE inputs (                    -- every file that the audit read; a workbook is one row a sheet
    source_file VARCHAR,
    holds VARCHAR[],                     -- the tables that it gives; settings; map; own rule
    sha256 VARCHAR,                      -- of the file's bytes, in hexadecimal
    -- rows read, accepted, left out for a fault, left out by a rule of their map; NULL: not a table
    rows BIGINT, kept BIGINT, rejected BIGINT, skipped BIGINT
);

CREATE TABLE versions (name VARCHAR, version VARCHAR);  -- program and tzdb, of the audit that made this store

-- Clocks -----------------------------------------------------------------------------------------------------

CREATE TABLE clocks (clock_no INTEGER PRIMARY KEY, clock VARCHAR);  -- a zone's law, or a rule set in a device

CREATE TABLE clock_offsets (             -- shown time = true time + offset, from start to end
    clock_no INTEGER, start_s BIGINT, end_s BIGINT, offset_s BIGINT
);

CREATE TYPE clock_change AS STRUCT(start_s BIGINT, offset_s BIGINT);
CREATE TABLE zone_offsets (              -- one row: the same by clock, oldest change first, for the macro local()
    by_clock MAP(VARCHAR, clock_change[])
);

CREATE TABLE device_clocks (             -- a device shows true time + offset of its clock + residual
    controller_id VARCHAR PRIMARY KEY, clock_no INTEGER, residual_s BIGINT
);

-- What is known from the run before ---------------------------------------------------------------------------

CREATE TABLE site_digests (              -- of all that a site's year is worked out from
    site_id VARCHAR PRIMARY KEY, digest VARCHAR
);

CREATE TABLE unchanged_sites (site_id VARCHAR);  -- whose year the run before worked out from just that

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
    kind VARCHAR,                        -- light, daylight (light without its margins), open, night (the night window
                                         -- of the date on which it ends), closed (outside widened hours)
    start_utc TIMESTAMP, end_utc TIMESTAMP
);

CREATE TABLE timeline (                  -- every circuit in use, the whole period without gaps
    circuit_id VARCHAR, start_utc TIMESTAMP, end_utc TIMESTAMP,
    level DOUBLE,                        -- 0 to 100
    conditional BOOLEAN                  -- true: on only if somebody is there
);

CREATE TABLE right_clock_timeline (      -- the same with every clock right, for circuits of wrong_clocks alone
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

-- Devices whose clock is off by more than a minute on at least one whole audited date.
CREATE VIEW wrong_clocks AS
SELECT DISTINCT controller_id, site_id
FROM clock_errors JOIN controllers USING (controller_id)
WHERE whole_dates > 0 AND abs(error_s) > 60;
