-- What holds at a site and when, whatever its devices do: its dates, opening hours, night windows, light.

CREATE OR REPLACE TEMP TABLE b_dates AS   -- every audited date and a few around it
WITH starts AS (
    SELECT site_no, local_day, greatest(local_day * 86400 - offset_s, not_before_s) AS day_start_s,
        local_day BETWEEN epoch_day(first_date) AND epoch_day(first_date) + days - 1 AS audited
    FROM b_sites
    JOIN clock_reach USING (clock_no)
    CROSS JOIN period
    WHERE local_day * 86400 >= from_local_s AND local_day * 86400 < until_local_s
      AND local_day BETWEEN epoch_day(first_date) - 4 AND epoch_day(first_date) + days + 4
)
SELECT site_no, local_day, audited, day_start_s AS start_s,
    lead(day_start_s) OVER (PARTITION BY site_no ORDER BY local_day) AS end_s
FROM starts;

CREATE OR REPLACE TEMP TABLE b_openings AS
WITH closed AS (
    SELECT site_no, epoch_day(date) AS local_day
    FROM closures JOIN b_sites ON closures.site_id IN (b_sites.site_id, '*')
), planned AS (
    SELECT b_dates.site_no, clock_no, local_day,
        local_day * 86400 + opens_s AS opens_local_s,
        (local_day + (closes_s <= opens_s)::INTEGER) * 86400 + closes_s AS closes_local_s
    FROM hours
    JOIN b_sites USING (site_id)
    JOIN b_dates ON b_dates.site_no = b_sites.site_no AND (days_mask >> weekday(local_day)) & 1 = 1
    ANTI JOIN closed ON closed.site_no = b_dates.site_no AND closed.local_day = b_dates.local_day
)
SELECT planned.site_no, planned.local_day, closes_local_s,
    greatest(opens_local_s - reach.offset_s, not_before_s) AS start_s,
    least(closes_local_s - leave.offset_s, not_after_s) AS end_s
FROM planned
JOIN clock_reach AS reach
    ON reach.clock_no = planned.clock_no AND reach.local_day = floor_day(opens_local_s)
    AND opens_local_s >= from_local_s AND opens_local_s < reach.until_local_s
JOIN clock_leave AS leave
    ON leave.clock_no = planned.clock_no AND leave.local_day = floor_day(closes_local_s)
    AND closes_local_s > after_local_s AND closes_local_s <= leave.until_local_s
WHERE end_s > start_s;

CREATE OR REPLACE TEMP TABLE b_nights AS   -- the night window of every audited date that has one
WITH edges AS (
    SELECT dates.site_no, dates.local_day, dates.start_s AS midnight_s,
        greatest((dates.local_day * 86400 + 21600) - offset_s, not_before_s) AS six_s,
        max(ran_over.end_s) AS late_end_s,
        min(today.start_s) AS first_opening_s
    FROM b_dates AS dates
    JOIN b_sites USING (site_no)
    JOIN clock_reach AS reach
        ON reach.clock_no = b_sites.clock_no AND reach.local_day = dates.local_day
        AND dates.local_day * 86400 + 21600 >= from_local_s AND dates.local_day * 86400 + 21600 < until_local_s
    LEFT JOIN b_openings AS ran_over
        ON ran_over.site_no = dates.site_no AND ran_over.local_day = dates.local_day - 1
        AND ran_over.closes_local_s > dates.local_day * 86400
    LEFT JOIN b_openings AS today ON today.site_no = dates.site_no AND today.local_day = dates.local_day
    WHERE audited AND hours_known
    GROUP BY ALL
)
SELECT site_no, local_day,
    greatest(midnight_s, late_end_s) AS start_s,
    least(six_s, first_opening_s) AS end_s
FROM edges WHERE greatest(midnight_s, late_end_s) < least(six_s, first_opening_s);

-- Everything that a circuit's state is held against, cut to the period and merged: what touches is one stretch.
CREATE OR REPLACE TEMP TABLE b_spans AS
WITH planned AS (
    SELECT site_no, 'light'::span_kind AS kind, start_s, end_s FROM b_light
    UNION ALL
    SELECT site_no, 'daylight', start_s + daylight_margin_s, end_s - daylight_margin_s FROM b_light CROSS JOIN period
    UNION ALL
    SELECT site_no, 'open', start_s, end_s FROM b_openings
    UNION ALL
    SELECT site_no, 'wide', start_s - hours_margin_s, end_s + hours_margin_s FROM b_openings CROSS JOIN period
), clipped AS (
    SELECT site_no, kind,
        greatest(planned.start_s, b_sites.start_s) AS start_s, least(planned.end_s, b_sites.end_s) AS end_s
    FROM planned JOIN b_sites USING (site_no)
), numbered AS (
    SELECT *, sum((start_s > reach_s)::INTEGER) OVER (PARTITION BY site_no, kind ORDER BY start_s ROWS UNBOUNDED PRECEDING) AS piece
    FROM (
        SELECT *, max(end_s) OVER (
            PARTITION BY site_no, kind ORDER BY start_s ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
        ) AS reach_s
        FROM clipped WHERE start_s < end_s
    )
)
SELECT site_no, kind, min(start_s) AS start_s, max(end_s) AS end_s FROM numbered GROUP BY site_no, kind, piece
UNION ALL
SELECT site_no, 'night', start_s, end_s FROM b_nights;

-- What is left of the period outside a kind of span: dark outside light, closed outside widened hours.
CREATE OR REPLACE TEMP TABLE b_gaps AS
WITH walls AS (   -- the spans, between two of no length at the period's edges
    SELECT site_no, kind, start_s, end_s FROM b_spans WHERE kind IN ('light', 'wide')
    UNION ALL
    SELECT site_no, kind, unnest([start_s, end_s]), unnest([start_s, end_s])
    FROM b_sites CROSS JOIN (VALUES ('light'::span_kind), ('wide'::span_kind)) AS kinds (kind)
), gaps AS (
    SELECT site_no, kind, end_s AS start_s, lead(start_s) OVER (PARTITION BY site_no, kind ORDER BY start_s, end_s) AS end_s
    FROM walls
)
SELECT site_no, CASE kind WHEN 'light' THEN 'dark'::span_kind ELSE 'closed'::span_kind END AS kind, gaps.start_s, gaps.end_s
FROM gaps JOIN b_sites USING (site_no)
WHERE gaps.start_s < gaps.end_s AND (kind = 'light' OR hours_known);

INSERT INTO b_spans SELECT * FROM b_gaps;

-- Where two kinds hold at once. Both are filed under every UTC day that they touch; what they share counts on the
-- day on which it begins.
INSERT INTO b_spans
WITH by_day AS (
    SELECT *, unnest(range(start_s // 86400, (end_s - 1) // 86400 + 1)) AS utc_day
    FROM b_spans WHERE kind IN ('open', 'dark', 'daylight', 'closed')
)
SELECT site_no,
    CASE one.kind WHEN 'open' THEN 'dark-open'::span_kind ELSE 'daylight-closed'::span_kind END,
    greatest(one.start_s, other.start_s) AS from_s, least(one.end_s, other.end_s) AS until_s
FROM by_day AS one
JOIN by_day AS other USING (site_no, utc_day)
WHERE (one.kind = 'open' AND other.kind = 'dark' OR one.kind = 'daylight' AND other.kind = 'closed')
  AND from_s < until_s AND utc_day = from_s // 86400;
