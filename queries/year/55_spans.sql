-- Everything that a circuit's state is held against, as stretches of each site's period.

-- What touches is one stretch. Not yet cut to the period: an opening that runs over its edge neither opens nor closes
-- there.
CREATE OR REPLACE TEMP TABLE b_planned AS
SELECT site_no, 'open'::span_kind AS kind, start_s, end_s FROM b_openings
UNION ALL
SELECT site_no, 'wide'::span_kind, start_s - hours_margin_s, end_s + hours_margin_s FROM b_openings CROSS JOIN period
ORDER BY site_no, kind, start_s;

CREATE OR REPLACE TEMP TABLE b_merged AS
WITH apart AS (       -- seconds of a scale on which every site and kind lies beyond all before it
    SELECT *, (site_no * 2 + (kind = 'wide')::INTEGER) * 100_000_000_000 AS beyond_s FROM b_planned
), reaching AS (      -- OVER () takes the rows as they stand in the ordered table
    SELECT *, max(beyond_s + end_s) OVER (ROWS UNBOUNDED PRECEDING) AS reach_s FROM apart
), numbered AS (
    SELECT *, sum(CASE WHEN begins THEN 1.0 ELSE 0.0 END) OVER (ROWS UNBOUNDED PRECEDING) AS piece
    FROM (SELECT *, beyond_s + start_s > lag(reach_s) OVER () AS begins FROM reaching)
)
SELECT site_no, kind, min(start_s) AS start_s, max(end_s) AS end_s FROM numbered GROUP BY site_no, kind, piece
UNION ALL
SELECT site_no, 'light'::span_kind, start_s, end_s FROM b_light;

CREATE OR REPLACE TEMP TABLE b_spans AS
WITH planned AS (
    SELECT site_no, kind, start_s, end_s FROM b_merged
    UNION ALL
    SELECT site_no, 'daylight'::span_kind, start_s + daylight_margin_s, end_s - daylight_margin_s
    FROM b_merged CROSS JOIN period WHERE kind = 'light'
    UNION ALL   -- each margin by itself, even where two overlap
    SELECT site_no, 'staff'::span_kind,
        unnest([start_s - staff_margin_s, end_s]), unnest([start_s, end_s + staff_margin_s])
    FROM b_merged CROSS JOIN period WHERE kind = 'open'
    UNION ALL
    SELECT site_no, 'night'::span_kind, start_s, end_s FROM b_nights
    UNION ALL
    SELECT DISTINCT b_dates.site_no, 'listed'::span_kind, b_dates.start_s, b_dates.end_s
    FROM b_closures JOIN b_dates USING (site_no, local_day)
    WHERE audited AND calendar IS NOT NULL
)
SELECT site_no, kind,
    greatest(planned.start_s, b_sites.start_s) AS start_s, least(planned.end_s, b_sites.end_s) AS end_s
FROM planned JOIN b_sites USING (site_no)
WHERE greatest(planned.start_s, b_sites.start_s) < least(planned.end_s, b_sites.end_s);

-- What is left of the period outside a kind of span: dark outside light, closed outside widened hours.
CREATE OR REPLACE TEMP TABLE b_walls AS   -- the spans, between two of no length at the period's edges
SELECT site_no, kind, start_s, end_s FROM b_spans WHERE kind IN ('light', 'wide')
UNION ALL
SELECT site_no, kind, unnest([start_s, end_s]), unnest([start_s, end_s])
FROM b_sites CROSS JOIN (VALUES ('light'::span_kind), ('wide'::span_kind)) AS kinds (kind)
WHERE kind = 'light' OR hours_known
ORDER BY site_no, kind, start_s, end_s;

INSERT INTO b_spans
WITH gaps AS (
    SELECT site_no, kind, end_s AS start_s,
        CASE WHEN site_no = lead(site_no) OVER () AND kind = lead(kind) OVER () THEN lead(start_s) OVER () END AS end_s
    FROM b_walls
)
SELECT site_no, CASE kind WHEN 'light' THEN 'dark'::span_kind ELSE 'closed'::span_kind END, start_s, end_s
FROM gaps WHERE start_s < end_s;

-- Where two kinds hold at once. Both are filed under every UTC day that they touch; what they share counts on the
-- day on which it begins.
INSERT INTO b_spans
WITH pairs AS (
    SELECT one::span_kind AS kind, other::span_kind AS other_kind, shared::span_kind AS shared_kind
    FROM (VALUES ('open', 'dark', 'dark-open'), ('staff', 'dark', 'dark-staff'),
                 ('daylight', 'closed', 'daylight-closed'), ('listed', 'closed', 'closed-listed')
         ) AS named (one, other, shared)
), one_by_day AS (
    SELECT site_no, other_kind AS kind, shared_kind, start_s, end_s, unnest(utc_days(start_s, end_s)) AS utc_day
    FROM b_spans JOIN pairs USING (kind)
), other_by_day AS (
    SELECT *, unnest(utc_days(start_s, end_s)) AS utc_day FROM b_spans WHERE kind IN ('dark', 'closed')
)
SELECT site_no, shared_kind, greatest(one.start_s, other.start_s) AS from_s, least(one.end_s, other.end_s) AS until_s
FROM one_by_day AS one
JOIN other_by_day AS other USING (site_no, kind, utc_day)
WHERE from_s < until_s AND utc_day = from_s // 86400;

-- When a duty asks for light, at sites where a circuit has one.
INSERT INTO b_spans
WITH duties AS (
    SELECT DISTINCT site_no, must_be_lit FROM b_circuits WHERE must_be_lit IS NOT NULL
)
SELECT site_no, 'duty-always'::span_kind, start_s, end_s
FROM duties JOIN b_sites USING (site_no) WHERE must_be_lit = 'always'
UNION ALL
SELECT site_no, 'duty-dark'::span_kind, start_s, end_s
FROM duties JOIN b_spans USING (site_no) WHERE must_be_lit = 'dark' AND kind = 'dark'
UNION ALL
SELECT site_no, 'duty-open'::span_kind, start_s, end_s
FROM duties JOIN b_spans USING (site_no) WHERE must_be_lit = 'open' AND kind = 'dark-open';
