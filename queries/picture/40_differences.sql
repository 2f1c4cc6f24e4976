-- Where a circuit would do otherwise if its device's clock were right, cut at local midnights.
-- paint: extra (on, would be off), missing (off, would be on), brighter and dimmer for all between: levels, detectors.

CREATE OR REPLACE TEMP TABLE picture_differences AS
WITH series AS (     -- left to a detector is less than lit at any level, and more than off
    SELECT circuit_no, epoch_us(start_utc) // 1000000 AS at_s,
        CASE WHEN conditional THEN 0.001 ELSE level END AS does, NULL::DOUBLE AS would
    FROM timeline JOIN picture_circuits USING (circuit_id)
    WHERE circuit_id IN (SELECT circuit_id FROM right_clock_timeline)
    UNION ALL
    SELECT circuit_no, epoch_us(start_utc) // 1000000, NULL, CASE WHEN conditional THEN 0.001 ELSE level END
    FROM right_clock_timeline JOIN picture_circuits USING (circuit_id)
    UNION ALL
    SELECT circuit_no, epoch_us(max(end_utc)) // 1000000, NULL, NULL
    FROM right_clock_timeline JOIN picture_circuits USING (circuit_id) GROUP BY circuit_no
), instants AS (
    SELECT circuit_no, at_s, max(does) AS does, max(would) AS would FROM series GROUP BY circuit_no, at_s
), carried AS (
    SELECT circuit_no, at_s AS start_s, lead(at_s) OVER w AS end_s,
        last_value(does IGNORE NULLS) OVER w AS does, last_value(would IGNORE NULLS) OVER w AS would
    FROM instants
    WINDOW w AS (PARTITION BY circuit_no ORDER BY at_s ROWS UNBOUNDED PRECEDING)
), apart_by_day AS (
    SELECT circuit_no, clock_no, start_s, end_s,
        CASE WHEN does > 0.001 AND would = 0 THEN 'extra' WHEN does > would THEN 'brighter'
             WHEN does = 0 AND would > 0.001 THEN 'missing' ELSE 'dimmer' END AS paint,
        unnest(utc_days(start_s, end_s)) AS utc_day
    FROM carried JOIN picture_circuits USING (circuit_no)
    WHERE end_s IS NOT NULL AND does <> would
), dates_by_day AS (
    SELECT *, unnest(utc_days(start_s, end_s)) AS utc_day FROM picture_dates
)
SELECT circuit_no, day, to_local_s, paint, 100.0::DOUBLE AS level,
    greatest(apart.start_s, dates.start_s) AS from_s, least(apart.end_s, dates.end_s) AS until_s
FROM apart_by_day AS apart JOIN dates_by_day AS dates USING (clock_no, utc_day)
WHERE from_s < until_s AND utc_day = from_s // 86400;
