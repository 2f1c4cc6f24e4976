-- What a store remembers from run to run. A run is known by the UTC date of its newest reading; the same date again
-- replaces it.

CREATE TABLE store_format (version INTEGER);  -- of this layout; a program refuses a store that is newer than itself

CREATE TABLE runs (                      -- one row a run, this one included
    run_date DATE PRIMARY KEY,           -- UTC date of the newest read_at
    first_date DATE, days INTEGER,       -- the audited period
    sites BIGINT, circuits BIGINT,       -- accepted; circuits in use
    critical BIGINT, high BIGINT, medium BIGINT, low BIGINT,  -- open findings
    avoidable_cost DOUBLE,               -- money a year
    new BIGINT, gone BIGINT,             -- open findings against the run before; NULL in the first run
    recovered_cost DOUBLE, added_cost DOUBLE   -- money a year: avoidable cost that went away, and that came, since then
);

CREATE TABLE past_findings (
    run_date DATE,
    finding_id VARCHAR, rule VARCHAR, severity VARCHAR, status VARCHAR,
    site_id VARCHAR, controller_id VARCHAR, subject_kind VARCHAR, subject_id VARCHAR,
    summary VARCHAR,
    cost DOUBLE,                         -- money a year
    first_seen DATE, runs_seen INTEGER,  -- since when it was found run after run, and in how many of them
    last_date DATE,                      -- local to the site
    PRIMARY KEY (run_date, finding_id)
);

CREATE TABLE past_sites (run_date DATE, site_id VARCHAR, name VARCHAR, region VARCHAR);

CREATE TABLE past_circuits (             -- of this run and the one before
    run_date DATE, circuit_id VARCHAR,
    avoidable_kwh DOUBLE                 -- kWh a year
);

CREATE TABLE past_rules (run_date DATE, rule VARCHAR, settings VARCHAR);  -- by which thresholds and margins it judged

CREATE TABLE past_readings (             -- every reading of a clock that a run has seen
    controller_id VARCHAR, site_id VARCHAR,
    read_at_utc TIMESTAMP,
    residual_s BIGINT                    -- seconds, what it showed minus what its own rule says
);

CREATE TABLE changes (                   -- findings of this run and the one before, told apart
    finding_id VARCHAR PRIMARY KEY,
    change VARCHAR,                      -- new, persisting or gone; of open findings
    reason VARCHAR,                      -- why gone; or why new, where that is not a new fault
    since DATE, runs INTEGER,            -- found since, in so many runs
    rule VARCHAR, severity VARCHAR,
    site_id VARCHAR, controller_id VARCHAR, subject_kind VARCHAR, subject_id VARCHAR,
    summary VARCHAR,
    cost DOUBLE                          -- money a year
);

CREATE TABLE missing_sites (site_id VARCHAR, name VARCHAR, region VARCHAR, reason VARCHAR);  -- in the run before, not in this one

-- Two readings of one clock at least two weeks apart. Who moved by more than half an hour a month, or came nearer to the
-- right time by more than a minute, was set in between: nothing is said of it.
CREATE VIEW drifts AS
WITH pairs AS (
    SELECT newest.controller_id, newest.site_id, earlier.read_at_utc AS earlier_utc, newest.read_at_utc AS newest_utc,
        newest.residual_s, newest.residual_s - earlier.residual_s AS moved_s,
        seconds(earlier.read_at_utc, newest.read_at_utc) / 86400 AS days
    FROM past_readings AS newest JOIN past_readings AS earlier USING (controller_id)
    WHERE newest.read_at_utc >= earlier.read_at_utc + INTERVAL 14 DAY
    QUALIFY row_number() OVER (
        PARTITION BY newest.controller_id ORDER BY newest.read_at_utc DESC, earlier.read_at_utc DESC
    ) = 1
)
SELECT controller_id, site_id, earlier_utc, newest_utc, residual_s,
    moved_s / days * (365.25 / 12) / 60 AS minutes_a_month,
    -- when it will show 5 minutes too much or too little, going on like this; NULL where that is past or years away
    CASE WHEN abs(residual_s) < 300 AND days_left < 3653 THEN (newest_utc + to_seconds((days_left * 86400)::BIGINT))::DATE END
        AS five_minutes_on
FROM (
    SELECT *, CASE WHEN moved_s <> 0 THEN ((CASE WHEN moved_s > 0 THEN 300 ELSE -300 END) - residual_s) / (moved_s / days) END
        AS days_left
    FROM pairs
)
WHERE abs(moved_s / days * 30) <= 1800 AND abs(residual_s) >= abs(residual_s - moved_s) - 60;

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
      AND NOT EXISTS (   -- gone since, and come back: that was an answer to the fault before
        FROM runs WHERE runs.run_date >= actions.date AND runs.run_date < findings.first_seen
    )
)
SELECT finding_id, date, "by", disposition, note, source_row, export_date,
    disposition = 'done' AND coalesce(date < export_date, true) AS contradicted
FROM read;
