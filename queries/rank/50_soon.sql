-- What begins within 60 days of the newest reading, one row a date and subject. What is waived or exempt stays out.

INSERT INTO soon BY NAME
WITH waived_clocks AS (
    SELECT controller_id
    FROM controllers JOIN standing_waivers USING (site_id)
    WHERE rule = 'clock-dst-offset' AND coalesce(subject_id, controller_id) = controller_id
), clock_lines AS (   -- not "clocks": the macro local() reads the table of that name
    SELECT date, kind, ahead.site_id, ahead.controller_id, 'controller' AS subject_kind, ahead.controller_id AS subject_id,
        what, CASE WHEN kind = 'clock' THEN coalesce(findings.severity, applied_rules.severity) END AS severity,
        CASE WHEN kind = 'clock' THEN applied_rules.rule END AS rule,
        CASE WHEN remote THEN 'remote' ELSE 'on-site' END AS fix,
        CASE WHEN kind = 'clock' THEN finding_id END AS finding_id
    FROM clocks_ahead AS ahead
    JOIN applied_rules ON applied_rules.rule = 'clock-dst-offset'
    LEFT JOIN findings ON findings.rule = applied_rules.rule AND findings.subject_id = ahead.controller_id
    WHERE ahead.controller_id NOT IN (SELECT controller_id FROM waived_clocks)
), first_stretches AS (   -- of rules that leave stretches of a day
    SELECT finding_id, state, seconds(next_start_utc, next_end_utc) / 60 AS stretch_minutes,
        local(timezone, next_start_utc) AS starts, local(timezone, next_end_utc) AS ends
    FROM finding_turns JOIN findings USING (finding_id, state) JOIN sites USING (site_id)
    WHERE findings.rule IN ('lit-in-daylight', 'no-night-cutoff', 'dark-while-open', 'dark-around-closing', 'duty-not-met')
), times AS (
    SELECT finding_id,
        format(' {} from {}', CASE state WHEN 'begins' THEN 'first' ELSE 'again' END, clock_words(starts))
            || CASE WHEN ends::DATE = starts::DATE THEN ' to ' || clock_words(ends)
                    ELSE ' for ' || minutes_words(stretch_minutes) END AS times_words
    FROM first_stretches
), begin_or_resume AS (
    SELECT findings.next_date AS date, 'finding' AS kind, findings.*,
        coalesce(title || ':' || times_words, rtrim(summary, '.'))
            || CASE WHEN last_date < period.first_date + days - 1 AND last_date > findings.next_date
                    THEN strftime(last_date, ', last on %-d %B %Y') ELSE '' END || '.' AS what
    FROM findings
    JOIN applied_rules USING (rule)
    LEFT JOIN times USING (finding_id)
    CROSS JOIN period
    WHERE status = 'open' AND state IN ('begins', 'resumes')
      -- the first two are told change by change and date by date, the last by the findings beside it
      AND rule NOT IN ('clock-dst-offset', 'holiday-program-missing', 'clock-times-at-dusk')
), holidays AS (
    SELECT date, 'holiday' AS kind, findings.* EXCLUDE (controller_id), bare.controller_id,
        format('Listed in calendar {}, and this device has no program for it: ', calendars)
            || format('circuit {}{} is programmed on for {} while the site is closed.', shown_circuit,
                CASE WHEN circuits > 1 THEN format(' (and {:d} more)', circuits - 1) ELSE '' END,
                minutes_words(shown_minutes)) AS what
    FROM unprogrammed_dates AS bare
    JOIN findings ON rule = 'holiday-program-missing' AND subject_id = bare.controller_id
    WHERE status = 'open'
), listed AS (
    SELECT site_id, calendar, date, max(date) OVER (PARTITION BY site_id, calendar) AS last_listed
    FROM site_closures
    WHERE calendar IS NOT NULL
), ended AS (       -- a list that had a date a year ago and has none now or later: next year's are not entered yet
    SELECT site_id, calendar, min(date + INTERVAL 1 YEAR)::DATE AS date, any_value(last_listed) AS last_listed
    FROM listed JOIN site_today USING (site_id)
    WHERE (date + INTERVAL 1 YEAR)::DATE BETWEEN newest_date + 1 AND newest_date + soon_days()
      AND last_listed < (date + INTERVAL 1 YEAR)::DATE - 14   -- feasts that move come within two weeks, or a year has ended
    GROUP BY site_id, calendar
), calendars AS (
    SELECT date, 'calendar' AS kind, site_id, 'site' AS subject_kind, site_id AS subject_id,
        format('Calendar {} is listed to {} only, and this date was on it a year before: enter the next dates.',
            calendar, strftime(last_listed, '%-d %B %Y')) AS what
    FROM ended
), told AS (
    FROM clock_lines
    UNION ALL BY NAME
    SELECT date, kind, site_id, controller_id, subject_kind, subject_id, what, severity, rule, fix, finding_id
    FROM begin_or_resume
    UNION ALL BY NAME
    SELECT date, kind, site_id, controller_id, subject_kind, subject_id, what, severity, rule, fix, finding_id
    FROM holidays
    UNION ALL BY NAME
    FROM calendars
)
SELECT told.*
FROM told JOIN site_today USING (site_id)
WHERE kind IN ('clock', 'clock-unknown') OR date BETWEEN newest_date + 1 AND newest_date + soon_days()
ORDER BY date, severity_place(severity) NULLS LAST, kind, site_id, rule, subject_kind, subject_id, what;
