-- Whether each finding holds at the newest reading, begins or resumes later in the period, or is over.

-- The audited date of the newest reading at each site; where that lies outside the period, the nearest audited date.
CREATE TEMP TABLE site_today AS
WITH dated AS (
    SELECT site_id, local(timezone, newest_read_at_utc)::DATE AS newest_date, first_date, days
    FROM sites CROSS JOIN period
)
SELECT dated.site_id, newest_date, date AS today, start_utc, end_utc
FROM dated JOIN site_days
    ON site_days.site_id = dated.site_id
    AND date = least(greatest(newest_date, first_date), first_date + days - 1);

-- When the year shows that a finding holds: the stretches that its rule counted. Only some rules leave stretches.
CREATE TEMP TABLE finding_stretches AS
WITH counted AS (
    SELECT kind AS rule, circuit_id AS subject_id, start_utc, end_utc
    FROM exposures
    WHERE kind = 'lit-in-daylight' AND seconds(start_utc, end_utc) >= threshold(kind, 'stretch_minutes') * 60
       OR kind IN ('dark-while-open', 'dark-around-closing', 'duty-not-met')
          AND seconds(start_utc, end_utc) > threshold(kind, 'stretch_minutes') * 60
    UNION ALL
    SELECT 'no-night-cutoff', circuit_id, span_start_utc, span_end_utc
    FROM exposures
    WHERE kind = 'lit-at-night' AND level > threshold('no-night-cutoff', 'level_percent')
      AND circuit_id IN (SELECT subject_id FROM findings WHERE rule = 'no-night-cutoff')   -- else most of the work is for nothing
    GROUP BY circuit_id, span_start_utc, span_end_utc
    HAVING sum(seconds(start_utc, end_utc))
        >= threshold('no-night-cutoff', 'window_share') * seconds(span_start_utc, span_end_utc)
    UNION ALL
    SELECT 'sensor-left-suspended', sensor_id, start_utc, end_utc
    FROM suspensions
    WHERE seconds(start_utc, end_utc) > threshold('sensor-left-suspended', 'suspended_hours') * 3600
    UNION ALL
    SELECT 'clock-dst-offset', controller_id, start_utc, end_utc
    FROM clock_errors JOIN clock_verdicts USING (controller_id)
    WHERE error_s <> nearest_s
    UNION ALL
    SELECT 'holiday-program-missing', controller_id, start_utc, end_utc
    FROM unprogrammed_dates JOIN site_days USING (site_id, date)
), shown AS (       -- times at dusk are found beside two other findings, and hold when these do
    SELECT rule, rule AS shown_by FROM applied_rules
    UNION ALL
    SELECT 'clock-times-at-dusk', unnest(['lit-in-daylight', 'dark-while-open'])
)
SELECT findings.finding_id, findings.rule, findings.site_id, counted.start_utc, counted.end_utc
FROM findings
JOIN shown USING (rule)
JOIN counted ON counted.rule = shown_by AND counted.subject_id = findings.subject_id
WHERE shown_by = findings.rule
   OR shown_by IN (SELECT beside.rule FROM findings AS beside WHERE beside.subject_id = findings.subject_id);

-- Nights, weekends and closed days are no pause: what comes again within a week holds, what rests for longer does not.
-- A clock's error knows no rhythm and is taken as it is.
CREATE TEMP TABLE finding_turns AS
WITH around AS (
    SELECT finding_id, rule, timezone, today,
        bool_or(stretch.start_utc < site_today.end_utc AND stretch.end_utc > site_today.start_utc) AS on_the_date,
        max(stretch.end_utc) FILTER (stretch.end_utc <= site_today.start_utc) AS before_utc,
        min(stretch.start_utc) FILTER (stretch.start_utc >= site_today.end_utc) AS next_start_utc,
        arg_min(stretch.end_utc, stretch.start_utc) FILTER (stretch.start_utc >= site_today.end_utc) AS next_end_utc,
        count(*) > 2 AND count(*) FILTER (stretch.start_utc < min_next_utc + INTERVAL 6 DAY) = 1 AS weekly
    FROM (SELECT *, min(start_utc) OVER (PARTITION BY finding_id) AS min_next_utc FROM finding_stretches) AS stretch
    JOIN site_today USING (site_id) JOIN sites USING (site_id)
    GROUP BY finding_id, rule, timezone, today
), dated AS (
    SELECT *, local(timezone, next_start_utc)::DATE AS next_date, last_day(timezone, before_utc) AS before_date,
        CASE WHEN rule = 'clock-dst-offset' THEN 0 ELSE 7 END AS rhythm_days
    FROM around
), told AS (
    SELECT *, CASE
        WHEN on_the_date THEN 'holds'
        -- the period's first week cannot show whether it came before: what comes once a week does not begin
        WHEN before_date IS NULL AND weekly AND next_date - first_date < rhythm_days THEN 'holds'
        WHEN before_date IS NULL THEN 'begins'
        -- the period's last week cannot show whether it comes again
        WHEN next_date IS NULL THEN CASE WHEN first_date + days - 1 - before_date >= rhythm_days THEN 'over' ELSE 'holds' END
        WHEN next_date - before_date > rhythm_days THEN 'resumes'
        ELSE 'holds'
    END AS state
    FROM dated CROSS JOIN period
)
SELECT finding_id, state, next_start_utc, next_end_utc,
    CASE WHEN state IN ('begins', 'resumes') THEN next_date END AS next_date
FROM told;

UPDATE findings SET state = told.state, next_date = told.next_date
FROM (
    SELECT findings.finding_id,
        CASE WHEN turns.finding_id IS NOT NULL THEN turns.state
             WHEN findings.first_date IS NULL THEN NULL
             WHEN rule = 'stale-export' THEN 'holds'   -- its dates are of UTC
             WHEN findings.first_date > today THEN 'begins'
             WHEN last_date < today THEN 'over'
             ELSE 'holds' END AS state,
        CASE WHEN turns.finding_id IS NOT NULL THEN turns.next_date
             WHEN findings.first_date > today AND rule <> 'stale-export' THEN findings.first_date END AS next_date
    FROM findings
    LEFT JOIN finding_turns AS turns USING (finding_id)
    JOIN site_today USING (site_id)
) AS told
WHERE told.finding_id = findings.finding_id;
