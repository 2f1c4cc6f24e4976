-- When each window of the editions holds at each site, and what circuits do then. Whole seconds since 1970.

CREATE OR REPLACE TEMP TABLE e_open AS     -- merged opening hours, with the next opening after each
SELECT site_id, epoch_us(start_utc) // 1000000 AS opens_s, epoch_us(end_utc) // 1000000 AS closes_s,
    lead(opens_s) OVER (PARTITION BY site_id ORDER BY opens_s) AS next_opens_s
FROM site_spans JOIN e_sites USING (site_id)
WHERE kind = 'open';

CREATE OR REPLACE TEMP TABLE e_window_terms AS   -- every window that some site is asked about
SELECT e_sites.*, code_windows.* EXCLUDE (edition, mark, confidence, source),
    from_closing_minutes IS NOT NULL OR until_opening_minutes IS NOT NULL AS needs_hours,
    from_time_s IS NOT NULL OR until_time_s IS NOT NULL AS by_date
FROM e_sites
JOIN code_items USING (edition)
JOIN code_windows USING (edition, item)
WHERE asked;

-- Times of day on every date: a clock first shows a local time in the first stretch of one offset that still reaches it;
-- a skipped time comes at the jump, a doubled one the first time. The night of a date begins at noon of the date before.
CREATE OR REPLACE TEMP TABLE e_window_times AS
WITH edges AS (
    SELECT DISTINCT site_id, timezone, unnest([from_time_s, until_time_s]) AS time_s FROM e_window_terms WHERE by_date
), moments AS (
    SELECT site_id, timezone, date, time_s,
        epoch_day(date - (CASE WHEN time_s >= 43200 THEN 1 ELSE 0 END)) * 86400 + time_s AS local_s
    FROM edges JOIN site_days USING (site_id)
    WHERE time_s IS NOT NULL
)
SELECT site_id, date, time_s, arg_min(greatest(local_s - offset_s, start_s), start_s) AS at_s
FROM moments JOIN clocks ON clock = timezone JOIN clock_offsets USING (clock_no)
WHERE end_s + offset_s > local_s AND start_s + offset_s < local_s + 172800
GROUP BY site_id, date, time_s;

-- By date: from the later of the time and closing to the earlier of the time and opening. Closing is the end of the last
-- opening that began by that time; the first date is left out where its closing lies before the period.
-- closed_in_it: the site is closed in it for some time, whatever the minutes after closing and before opening leave.
CREATE OR REPLACE TEMP TABLE e_window_candidates AS
WITH dated AS (
    SELECT terms.*, site_days.date, starts.at_s AS from_s, ends.at_s AS until_s,
        coalesce(starts.at_s, ends.at_s) AS reference_s
    FROM e_window_terms AS terms
    JOIN site_days USING (site_id)
    LEFT JOIN e_window_times AS starts ON starts.site_id = terms.site_id AND starts.date = site_days.date
        AND starts.time_s = from_time_s
    LEFT JOIN e_window_times AS ends ON ends.site_id = terms.site_id AND ends.date = site_days.date
        AND ends.time_s = until_time_s
    WHERE by_date AND (hours_known OR NOT needs_hours)
), placed AS (
    SELECT dated.*, closes_s,
        coalesce(next_opens_s,
            CASE WHEN closes_s IS NULL THEN (SELECT min(opens_s)
                FROM e_open WHERE site_id = dated.site_id) END) AS opening_s
    FROM dated ASOF LEFT JOIN e_open ON e_open.site_id = dated.site_id AND dated.reference_s >= e_open.opens_s
), by_date_edges AS (
    SELECT site_id, item, window_no, date,
        greatest(CASE WHEN from_time_s IS NOT NULL THEN from_s ELSE reference_s - 64800 END,
            closes_s + (from_closing_minutes * 60)::BIGINT) AS start_s,
        least(CASE WHEN until_time_s IS NOT NULL THEN until_s ELSE reference_s + 64800 END,
            opening_s - (until_opening_minutes * 60)::BIGINT) AS end_s,
        greatest(coalesce(from_s, reference_s - 64800), CASE WHEN from_closing_minutes IS NOT NULL THEN closes_s END)
            < least(coalesce(until_s, reference_s + 64800), CASE WHEN until_opening_minutes IS NOT NULL THEN opening_s END)
            AS closed_in_it
    FROM placed
    WHERE coalesce(from_s, until_s - 64800) >= placed.start_s AND NOT (needs_hours AND until_s < placed.start_s + 86400)
), between_openings AS (    -- by hours alone: from each closing to the next opening
    SELECT terms.site_id, item, window_no, last_day(timezone, utc(closes_s + 1)) AS date,
        closes_s + (coalesce(from_closing_minutes, 0) * 60)::BIGINT AS start_s,
        next_opens_s - (coalesce(until_opening_minutes, 0) * 60)::BIGINT AS end_s, true AS closed_in_it
    FROM e_window_terms AS terms JOIN e_open USING (site_id)
    WHERE NOT by_date AND next_opens_s IS NOT NULL
)
SELECT * FROM by_date_edges UNION ALL SELECT * FROM between_openings;

CREATE OR REPLACE TEMP TABLE e_windows AS
SELECT *, row_number() OVER (PARTITION BY site_id, item, window_no ORDER BY start_s) AS span_no
FROM e_window_candidates WHERE start_s < end_s;

-- What became of each window at each site: never empty by chance of a short period.
CREATE OR REPLACE TEMP TABLE e_window_counts AS
WITH counted AS (
    SELECT site_id, item, window_no, count(*) AS candidates, count(*) FILTER (start_s < end_s) AS windows,
        min(date) AS first_candidate, bool_or(closed_in_it) AS closed_in_it
    FROM e_window_candidates GROUP BY ALL
), firsts AS (
    SELECT site_id, min(date) AS first_date FROM site_days GROUP BY site_id
), all_through AS (
    SELECT site_id FROM e_open JOIN e_sites USING (site_id) WHERE opens_s <= start_s AND closes_s >= end_s
)
SELECT terms.*, coalesce(windows, 0) AS windows,
    CASE WHEN first_candidate > first_date      -- in words, why a year of 365 dates has 364 windows
        THEN ' (the first night is left out: when the site closed before it lies outside the audited period)'
        WHEN NOT by_date THEN ' (from each closing in the audited period to the next opening in it)' ELSE '' END AS
            left_out,
    CASE
        WHEN needs_hours AND NOT hours_known THEN 'hours unknown'
        WHEN coalesce(windows, 0) > 0 THEN 'there'
        WHEN closed_in_it THEN 'swallowed'               -- the site closes, for no longer than its own minutes leave out
        WHEN coalesce(candidates, 0) > 0 OR site_id IN (FROM all_through) THEN 'empty'   -- it never holds here
        ELSE 'outside'                                                                  -- of the audited period
    END AS presence
FROM e_window_terms AS terms LEFT JOIN counted USING (site_id, item, window_no) LEFT JOIN firsts USING (site_id);

-- What an edition leaves after sunrise goes before the margin of the portfolio.
CREATE OR REPLACE TEMP TABLE e_daylight_margins AS
SELECT site_id, daylight_margin_s AS sunset_margin_s, coalesce((limit_of(edition, 'exterior-daylight-off', 'sunrise_minutes')
    * 60)::BIGINT, daylight_margin_s) AS sunrise_margin_s
FROM e_sites CROSS JOIN period;

-- Spans of every kind: windows by item and number, unoccupied time, daylight, light, the whole period.
CREATE OR REPLACE TEMP TABLE e_spans AS
WITH margins AS (
    SELECT hours_margin_s FROM period
), unoccupied AS (      -- before the first opening of the period nobody knows when it closed
    SELECT site_id, closes_s + hours_margin_s AS start_s,
        coalesce(next_opens_s - hours_margin_s, end_s) AS end_s
    FROM e_open JOIN e_sites USING (site_id) CROSS JOIN margins
    UNION ALL
    SELECT site_id, start_s, end_s FROM e_sites
    WHERE hours_known AND site_id NOT IN (SELECT site_id FROM e_open)
), light AS (
    SELECT site_id, epoch_us(start_utc) // 1000000 AS start_s, epoch_us(end_utc) // 1000000 AS end_s
    FROM site_spans JOIN e_sites USING (site_id) WHERE kind = 'light'
), spans AS (
    SELECT site_id, format('{}/{}', item, window_no) AS kind, start_s, end_s FROM e_windows
    UNION ALL
    SELECT site_id, 'unoccupied', start_s, end_s FROM unoccupied
    UNION ALL
    SELECT site_id, 'light', start_s, end_s FROM light
    UNION ALL
    SELECT site_id, 'daylight', start_s + sunrise_margin_s, end_s - sunset_margin_s
    FROM light JOIN e_daylight_margins USING (site_id)
    UNION ALL
    SELECT site_id, 'period', start_s, end_s FROM e_sites
)
SELECT *, row_number() OVER (PARTITION BY site_id, kind ORDER BY start_s) AS span_no FROM spans WHERE start_s < end_s;

-- Light in spans. Both sides are filed under every UTC day that they touch; an overlap counts on the day it begins.
CREATE OR REPLACE TEMP TABLE e_overlaps AS
WITH asks AS (
    SELECT DISTINCT circuit_id, site_id, unnest(CASE
        WHEN item = 'interior-shutoff' THEN ['unoccupied']
        WHEN item = 'weekend-days' THEN ['unoccupied']
        WHEN item = 'holiday-shutoff' THEN ['period']
        WHEN item = 'exterior-daylight-off' THEN ['daylight']
        WHEN item = 'sign-dimming' THEN ['light', 'period']
        WHEN item = 'motion-control' THEN ['light', 'period']
        WHEN item = 'exterior-scheduling' THEN ['period', 'unoccupied', 'exterior-scheduling/1']
        WHEN item IN ('facade-night-off', 'exterior-setback')
            THEN list_concat(['period'], list_transform(range(1, 9), lambda n: format('{}/{}', item, n)))
    END) AS kind
    FROM e_scope
), lit AS (
    SELECT circuit_id, asks.site_id, kind, epoch_us(start_utc) // 1000000 AS start_s,
        epoch_us(end_utc) // 1000000 AS end_s,
        level, conditional
    FROM timeline JOIN asks USING (circuit_id)
    WHERE level > 0 OR conditional
), lit_by_day AS (
    SELECT *, unnest(utc_days(start_s, end_s)) AS utc_day FROM lit WHERE kind <> 'period'
), spans_by_day AS (
    SELECT *, unnest(utc_days(start_s, end_s)) AS utc_day FROM e_spans WHERE kind <> 'period'
)
SELECT circuit_id, site_id, kind, span_no, spans.start_s AS span_start_s, spans.end_s AS span_end_s,
    greatest(lit.start_s, spans.start_s) AS from_s, least(lit.end_s, spans.end_s) AS until_s, level, conditional
FROM lit_by_day AS lit JOIN spans_by_day AS spans USING (site_id, kind, utc_day)
WHERE from_s < until_s AND utc_day = from_s // 86400
UNION ALL
SELECT circuit_id, site_id, kind, 1, start_s, end_s, start_s, end_s, level, conditional FROM lit WHERE kind = 'period';
