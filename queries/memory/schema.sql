-- What a store remembers from run to run. A run is known by the UTC date of its newest reading; the same date again
-- replaces it.

CREATE TABLE store_format (version INTEGER);  -- of this layout; a program refuses a store that is newer than itself

CREATE TABLE runs (                      -- one row a run, this one included
    run_date DATE PRIMARY KEY,           -- UTC date of the newest read_at
    first_date DATE, days INTEGER,       -- the audited period
    sites BIGINT, circuits BIGINT,       -- accepted; circuits in use
    critical BIGINT, high BIGINT, medium BIGINT, low BIGINT,  -- open findings
    avoidable_cost DOUBLE,               -- money a year
    new BIGINT, persisting BIGINT, gone BIGINT,  -- open findings against the run before; NULL in the first run
    recovered_cost DOUBLE, added_cost DOUBLE   -- money a year: avoidable cost that went away, and that came, since then
);

CREATE TABLE past_findings (
    run_date DATE,
    finding_id VARCHAR, rule VARCHAR, severity VARCHAR,
    status VARCHAR,                      -- open, waived, exempt; unseen: found before, and not looked at since
    site_id VARCHAR, controller_id VARCHAR, subject_kind VARCHAR, subject_id VARCHAR,
    summary VARCHAR,
    cost DOUBLE,                         -- money a year
    first_seen DATE, runs_seen INTEGER,  -- since when it was found run after run, and in how many of them
    last_date DATE,                      -- local to the site
    facts MAP(VARCHAR, VARCHAR),         -- what it rests on, each as an MD5 sum; of this run and the one before
    PRIMARY KEY (run_date, finding_id)
);

CREATE TABLE past_sites (run_date DATE, site_id VARCHAR, name VARCHAR, region VARCHAR);

CREATE TABLE past_circuits (             -- of this run and the one before
    run_date DATE, circuit_id VARCHAR,
    avoidable_kwh DOUBLE,                -- kWh a year
    told VARCHAR                         -- what the tables say of it but for its program, as an MD5 sum
);

CREATE TABLE past_rules (run_date DATE, rule VARCHAR, settings VARCHAR);  -- by which thresholds and margins it judged

CREATE TABLE past_readings (             -- every reading of a clock that a run has seen
    run_date DATE,                       -- the first run that saw it
    controller_id VARCHAR, site_id VARCHAR,
    read_at_utc TIMESTAMP,
    residual_s BIGINT,                   -- seconds, what it showed minus what its own rule says
    to_the_minute BOOLEAN                -- it showed no seconds
);

CREATE TABLE changes (                   -- findings of this run and the one before, told apart
    finding_id VARCHAR PRIMARY KEY,
    change VARCHAR,                      -- new, persisting or gone; of open findings, and gone of others
    was VARCHAR,                         -- its status in the run before; NULL: it was not there
    reason VARCHAR,                      -- why gone; or why new, where that is not a new fault
    since DATE, runs INTEGER,            -- found since, in so many runs
    rule VARCHAR, severity VARCHAR,
    site_id VARCHAR, controller_id VARCHAR, subject_kind VARCHAR, subject_id VARCHAR,
    summary VARCHAR,
    cost DOUBLE                          -- money a year
);

CREATE TABLE missing_sites (site_id VARCHAR, name VARCHAR, region VARCHAR, reason VARCHAR);  -- in the run before, not in this one

-- The first and the newest reading of a clock since it was last set, two weeks apart at least. A clock that moved by more
-- than half an hour a month, or came nearer to the right time by more than a minute, was set in between. Readings without
-- seconds may each be a minute off: a minute between them says nothing.
CREATE VIEW drifts AS
WITH pairs AS (
    SELECT *, lag(residual_s) OVER clock AS before_s, lag(read_at_utc) OVER clock AS before_utc
    FROM past_readings
    WINDOW clock AS (PARTITION BY controller_id ORDER BY read_at_utc, run_date)
), settings AS (
    SELECT *, count(*) FILTER (
            abs(residual_s - before_s) > 1800 * greatest(seconds(before_utc, read_at_utc) / 2629800, 0.03)
            OR abs(residual_s) < abs(before_s) - 60
        ) OVER (PARTITION BY controller_id ORDER BY read_at_utc, run_date) AS times_set
    FROM pairs
), since_set AS (
    SELECT controller_id, any_value(site_id) AS site_id, times_set,
        min(read_at_utc) AS earlier_utc, max(read_at_utc) AS newest_utc, arg_max(residual_s, read_at_utc) AS residual_s,
        arg_max(residual_s, read_at_utc) - arg_min(residual_s, read_at_utc) AS moved_s,
        seconds(earlier_utc, newest_utc) / 86400 AS days, bool_or(coalesce(to_the_minute, true)) AS to_the_minute
    FROM settings
    GROUP BY controller_id, times_set
    QUALIFY row_number() OVER (PARTITION BY controller_id ORDER BY times_set DESC) = 1
), moving AS (
    SELECT *, ((CASE WHEN moved_s > 0 THEN 300 ELSE -300 END) - residual_s) / (moved_s / days) AS days_left
    FROM since_set
    WHERE days >= 14 AND abs(moved_s) > CASE WHEN to_the_minute THEN 60 ELSE 5 END
)
SELECT controller_id, site_id, earlier_utc, newest_utc, residual_s,
    moved_s / days * (365.25 / 12) / 60 AS minutes_a_month,
    -- when it will show 5 minutes too much or too little, going on like this; NULL where that is past or years away
    CASE WHEN abs(residual_s) < 300 AND days_left < 3653 THEN (newest_utc + to_seconds((days_left * 86400)::BIGINT))::DATE END
        AS five_minutes_on
FROM moving;

-- What was done about findings that are still there, and when the export that shows them was read. "Done" before that
-- reading was not enough; one that came after it is not shown by it yet.
CREATE VIEW answers AS
WITH read AS (
    SELECT actions.*, local(timezone, coalesce(read_at_utc, newest_read_at_utc))::DATE AS export_date
    FROM actions
    JOIN findings USING (finding_id)
    JOIN sites USING (site_id)
    LEFT JOIN controllers ON controllers.controller_id = findings.controller_id
    CROSS JOIN period
    WHERE NOT (disposition = 'declined' AND coalesce(trim(note), '') = '')
      AND coalesce(actions.date <= newest_read_at_utc::DATE + 92, true)   -- later is a slip of the pen, and would silence it
      AND NOT EXISTS (   -- gone since, and come back: that was an answer to the fault before
        FROM runs WHERE runs.run_date >= actions.date AND runs.run_date < findings.first_seen
    )
)
SELECT finding_id, date, "by", disposition, note, source_row, export_date,
    disposition = 'done' AND coalesce(date < export_date, true) AS contradicted
FROM read;
