-- Each circuit's stretches held against what holds at its site; the overlaps add up to the figures.

-- Which kinds of span matter to a circuit in which state: on, off, or dark (off, and no detector to call it).
CREATE OR REPLACE TEMP TABLE b_asks AS
WITH asks (state, kind, areas) AS (
    VALUES ('on', 'daylight', NULL),
           ('on', 'closed', NULL),
           ('on', 'night', NULL),
           ('on', 'daylight-closed', ['sign', 'facade', 'landscape']),
           ('on', 'closed-listed', ['interior', 'sign']),
           ('dark', 'dark-staff', ['parking', 'walkway', 'canopy', 'egress']),
           ('dark', 'dark-open', ['parking', 'walkway', 'canopy', 'egress', 'facade', 'landscape', 'sign',
                                  'security', 'other-exterior'])
)
SELECT circuit_no, site_no, state, kind::span_kind AS kind
FROM b_circuits JOIN asks ON areas IS NULL OR area IN areas
UNION ALL
SELECT circuit_no, site_no, unnest(['off', 'dark']), ('duty-' || must_be_lit)::span_kind
FROM b_circuits WHERE must_be_lit IS NOT NULL;

-- Both sides are filed under every UTC day that they touch; an overlap counts on the day on which it begins.
CREATE OR REPLACE TEMP TABLE b_overlaps AS
WITH days AS (       -- most states end within a day or two
    SELECT *, start_s // 86400 AS utc_day FROM b_states
    UNION ALL
    SELECT *, unnest(utc_days(start_s, end_s)[2:]) FROM b_states WHERE (end_s - 1) // 86400 > start_s // 86400
), states_by_day AS MATERIALIZED (   -- first, and by themselves: the optimiser would else start from the spans
    SELECT circuit_no, site_no, kind, start_s, end_s, level, step_no, end_step_no, utc_day
    FROM days JOIN b_asks USING (circuit_no)
    WHERE state = CASE WHEN level > 0 THEN 'on' WHEN conditional THEN 'off' ELSE 'dark' END
), spans_by_day AS (
    SELECT *, unnest(utc_days(start_s, end_s)) AS utc_day
    FROM b_spans WHERE kind IN (SELECT kind FROM b_asks)
)
SELECT circuit_no, kind, level, spans.start_s AS span_start_s, spans.end_s AS span_end_s,
    greatest(states.start_s, spans.start_s) AS from_s, least(states.end_s, spans.end_s) AS until_s,
    step_no, CASE WHEN states.end_s = until_s THEN end_step_no END AS end_step_no
FROM states_by_day AS states
JOIN spans_by_day AS spans USING (site_no, kind, utc_day)
WHERE from_s < until_s AND utc_day = from_s // 86400;

-- How long after closing each circuit first goes off, typically. From one closing to the next opening; where it is on
-- all through, that is all of it (a day at most), and where it is off all through, none.
CREATE OR REPLACE TEMP TABLE b_habits AS
WITH closings AS (
    SELECT site_no, merged.end_s AS closes_s,
        lead(merged.start_s) OVER (PARTITION BY site_no ORDER BY merged.start_s) AS next_s,
        least(next_s, closes_s + 86400, b_sites.end_s) AS reopens_s
    FROM b_merged AS merged JOIN b_sites USING (site_no)
    WHERE kind = 'open'
    QUALIFY closes_s >= b_sites.start_s AND closes_s < b_sites.end_s
), asked AS (
    SELECT circuit_no, closes_s, reopens_s FROM closings JOIN b_circuits USING (site_no)
), in_force AS (
    SELECT asked.*, level > 0 AS lit
    FROM asked ASOF JOIN b_states AS states
        ON states.circuit_no = asked.circuit_no AND states.start_s <= asked.closes_s
), offs AS (
    SELECT circuit_no, start_s AS off_s FROM b_states WHERE turned_off
), first_offs AS (
    SELECT in_force.circuit_no,
        CASE WHEN off_s < reopens_s THEN off_s - closes_s WHEN lit THEN reopens_s - closes_s ELSE 0 END AS after_s
    FROM in_force ASOF LEFT JOIN offs ON offs.circuit_no = in_force.circuit_no AND offs.off_s >= in_force.closes_s
)
SELECT circuit_no, quantile_disc(after_s, 0.5) AS off_after_closing_s FROM first_offs GROUP BY circuit_no;

CREATE OR REPLACE TEMP TABLE b_figures AS
WITH states AS (   -- sums in whole seconds, and in seconds times hundredths of a level: exact, in whatever order
    SELECT circuit_no,
        coalesce(sum(end_s - start_s) FILTER (level > 0), 0) AS on_s,
        coalesce(sum(end_s - start_s) FILTER (conditional), 0) AS conditional_s,
        sum((end_s - start_s) * centilevel(level)) AS on_full
    FROM b_states GROUP BY circuit_no
), sums AS (
    SELECT circuit_no,
        sum(until_s - from_s) FILTER (kind = 'daylight') AS daylight_s,
        sum(until_s - from_s) FILTER (kind = 'closed') AS closed_s,
        sum(until_s - from_s) FILTER (kind = 'night') AS night_s,
        sum(until_s - from_s) FILTER (kind = 'dark-open') AS dark_open_s,
        sum((until_s - from_s) * centilevel(level)) FILTER (kind = 'daylight') AS daylight_full,
        sum((until_s - from_s) * centilevel(level)) FILTER (kind = 'closed') AS closed_full,
        sum((until_s - from_s) * centilevel(level)) FILTER (kind = 'night') AS night_full,
        sum((until_s - from_s) * centilevel(level)) FILTER (kind = 'daylight-closed') AS both_full
    FROM b_overlaps GROUP BY circuit_no
), sites_at_large AS (
    SELECT site_no,
        sum(end_s - start_s) FILTER (kind = 'closed') AS site_closed_s,
        count(*) FILTER (kind = 'night') AS night_windows
    FROM b_spans GROUP BY site_no
), avoidable AS (  -- which light nobody needs: in daylight outdoors, while closed where light serves customers
    SELECT circuit_no, CASE
        WHEN area IN ('egress', 'security') THEN 0
        WHEN area = 'interior' THEN CASE WHEN hours_known THEN coalesce(closed_full, 0) END
        WHEN area IN ('sign', 'facade', 'landscape')
            THEN coalesce(daylight_full, 0) + coalesce(closed_full, 0) - coalesce(both_full, 0)   -- each second once
        ELSE coalesce(daylight_full, 0)
    END AS avoidable_full
    FROM b_circuits JOIN b_sites USING (site_no) LEFT JOIN sums USING (circuit_no)
)
SELECT
    circuit_no, b_sites.site_id, b_controllers.controller_id, circuit_id,
    on_s, conditional_s, coalesce(daylight_s, 0) AS daylight_s,
    CASE WHEN hours_known THEN coalesce(closed_s, 0) END AS closed_s,
    CASE WHEN hours_known THEN coalesce(night_s, 0) END AS night_s,
    CASE WHEN hours_known AND area <> 'interior' THEN coalesce(dark_open_s, 0) END AS dark_open_s,
    full_kwh(connected_watts, on_full) AS kwh,
    full_kwh(connected_watts, avoidable_full) AS avoidable_kwh,
    full_kwh(connected_watts, coalesce(daylight_full, 0)) AS daylight_kwh,
    CASE WHEN hours_known THEN full_kwh(connected_watts, coalesce(closed_full, 0)) END AS closed_kwh,
    CASE WHEN hours_known THEN full_kwh(connected_watts, coalesce(night_full, 0)) END AS curfew_kwh,
    CASE WHEN hours_known THEN coalesce(site_closed_s, 0) END AS site_closed_s,
    CASE WHEN hours_known THEN coalesce(night_windows, 0) END AS night_windows,
    off_after_closing_s
FROM b_circuits
JOIN b_controllers USING (controller_no)
JOIN b_sites ON b_sites.site_no = b_circuits.site_no
JOIN states USING (circuit_no)
JOIN avoidable USING (circuit_no)
LEFT JOIN sums USING (circuit_no)
LEFT JOIN b_habits USING (circuit_no)
LEFT JOIN sites_at_large ON sites_at_large.site_no = b_circuits.site_no;
