-- What each circuit does, cut at local midnights and told apart by what holds at its site then.
-- paint: on-dark and on-dim (below full level) outside daylight; on-day in daylight, on-by-day where that is nothing
-- to point at; on-closed (interior); maybe (conditional); unlit (dark while open where people walk) and off-open (the
-- same elsewhere outdoors); unmet (a duty asks for light).
-- As for figures, both sides are filed under every UTC day that they touch; an overlap counts on the day on which it
-- begins.

CREATE OR REPLACE TEMP TABLE picture_pieces AS
WITH states AS (
    SELECT circuit_no, site_id, indoors, walked, lit_by_day, must_be_lit, level, conditional,
        epoch_us(start_utc) // 1000000 AS start_s, epoch_us(end_utc) // 1000000 AS end_s
    FROM timeline JOIN picture_circuits USING (circuit_id)
), states_by_day AS (
    SELECT *, unnest(utc_days(start_s, end_s)) AS utc_day FROM states
), phases_by_day AS (
    SELECT *, unnest(utc_days(start_s, end_s)) AS utc_day FROM picture_phases
), pieces AS (
    SELECT circuit_no, day, to_local_s,
        greatest(states.start_s, phases.start_s) AS from_s, least(states.end_s, phases.end_s) AS until_s,
        CASE
            WHEN level > 0 AND indoors AND closed THEN 'on-closed'
            WHEN level > 0 AND daylight THEN CASE WHEN lit_by_day THEN 'on-by-day' ELSE 'on-day' END
            WHEN level > 0 THEN CASE WHEN level < 100 THEN 'on-dim' ELSE 'on-dark' END
            WHEN dark AND open AND NOT conditional AND NOT indoors THEN CASE WHEN walked THEN 'unlit' ELSE 'off-open' END
            WHEN CASE must_be_lit WHEN 'always' THEN true WHEN 'dark' THEN dark WHEN 'open' THEN dark AND open END THEN 'unmet'
            WHEN conditional THEN 'maybe'
        END AS paint,
        level
    FROM states_by_day AS states JOIN phases_by_day AS phases USING (site_id, utc_day)
    WHERE from_s < until_s AND utc_day = from_s // 86400 AND paint IS NOT NULL
), numbered AS (   -- what goes on in the same way is one piece
    SELECT *, sum(CASE WHEN from_s = reach_s AND same THEN 0 ELSE 1 END)
                OVER (PARTITION BY circuit_no ORDER BY from_s ROWS UNBOUNDED PRECEDING) AS piece
    FROM (
        SELECT *, lag(until_s) OVER w AS reach_s,
            (day, to_local_s, paint, level) = lag((day, to_local_s, paint, level)) OVER w AS same
        FROM pieces
        WINDOW w AS (PARTITION BY circuit_no ORDER BY from_s)
    )
)
SELECT circuit_no, day, to_local_s, paint, level, min(from_s) AS from_s, max(until_s) AS until_s
FROM numbered
GROUP BY circuit_no, piece, day, to_local_s, paint, level;
