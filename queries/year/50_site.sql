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
WITH planned AS (
    SELECT b_dates.site_no, clock_no, local_day,
        local_day * 86400 + opens_s AS opens_local_s,
        (local_day + (closes_s <= opens_s)::INTEGER) * 86400 + closes_s AS closes_local_s
    FROM hours
    JOIN b_sites USING (site_id)
    JOIN b_dates ON b_dates.site_no = b_sites.site_no AND (days_mask >> weekday(local_day)) & 1 = 1
    ANTI JOIN b_closures AS closed ON closed.site_no = b_dates.site_no AND closed.local_day = b_dates.local_day
)
SELECT planned.site_no, planned.local_day,
    greatest(opens_local_s - reach.offset_s, not_before_s) AS start_s,
    least(closes_local_s - leave.offset_s, not_after_s) AS end_s
FROM planned
JOIN clock_reach AS reach
    ON reach.clock_no = planned.clock_no AND reach.local_day = floor_day(opens_local_s)
    AND opens_local_s >= reach.from_local_s AND opens_local_s < reach.until_local_s
JOIN clock_leave AS leave
    ON leave.clock_no = planned.clock_no AND leave.local_day = floor_day(closes_local_s)
    AND closes_local_s >= leave.from_local_s AND closes_local_s < leave.until_local_s
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
    LEFT JOIN b_openings AS today ON today.site_no = dates.site_no AND today.local_day = dates.local_day
    WHERE audited AND hours_known
    GROUP BY ALL
)
SELECT site_no, local_day,
    greatest(midnight_s, late_end_s) AS start_s,
    least(six_s, first_opening_s) AS end_s
FROM edges WHERE greatest(midnight_s, late_end_s) < least(six_s, first_opening_s);
