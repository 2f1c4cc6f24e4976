-- When each step fires on each of its targets: from 366 days before the period, to the second.

-- Dates that belong to a calendar for which the target has steps: only those steps act on it then.
CREATE OR REPLACE TEMP TABLE b_special_days AS
SELECT DISTINCT target_no, local_day AS device_day, calendar
FROM b_steps JOIN b_closures USING (site_no, calendar);

CREATE OR REPLACE TEMP TABLE b_step_dates AS   -- the dates D, on the device's clock, of every step
WITH candidates AS (
    SELECT step_no, target_no, calendar, days_mask, season_from, season_until,
        unnest(range(first_day, last_day + 1)) AS device_day
    FROM b_steps JOIN b_step_days USING (step_no)
    WHERE calendar IS NULL
    UNION ALL
    SELECT step_no, target_no, calendar, days_mask, season_from, season_until, device_day
    FROM b_steps JOIN b_special_days USING (target_no, calendar)
)
SELECT step_no, device_day
FROM candidates
ANTI JOIN b_special_days AS special
    ON candidates.calendar IS NULL AND special.target_no = candidates.target_no
    AND special.device_day = candidates.device_day
WHERE (days_mask >> weekday(device_day)) & 1 = 1
  AND (season_from IS NULL OR in_season(device_day, season_from, season_until));

CREATE OR REPLACE TEMP TABLE b_device_noons AS   -- the date on which a solar transit falls, by the device's offset
SELECT controller_no, transits.place_no, transits.day,
    floor_day(noon_s + offset_s) AS device_day
FROM (SELECT place_no, day, round((day + 0.5 + noon_x) * 86400)::BIGINT AS noon_s FROM b_transits) AS transits
JOIN (SELECT DISTINCT controller_no, place_no, clock_no FROM b_steps WHERE anchor <> 'clock') AS devices USING (place_no)
JOIN clock_offsets AS clock
    ON clock.clock_no = devices.clock_no AND noon_s >= clock.start_s AND noon_s < clock.end_s;

CREATE OR REPLACE TEMP TABLE b_firings AS
WITH by_clock AS (
    SELECT step_no, device_day, device_day * 86400 + time_s - residual_s AS local_s, clock_no
    FROM b_step_dates JOIN b_steps USING (step_no) WHERE anchor = 'clock'
), fired AS (
    SELECT step_no, greatest(local_s - offset_s, not_before_s) AS at_s
    FROM by_clock
    JOIN clock_reach AS reach
        ON reach.clock_no = by_clock.clock_no AND local_day = floor_day(local_s)
        AND local_s >= from_local_s AND local_s < until_local_s
    UNION ALL
    SELECT step_no, at_s + offset_s - residual_s   -- the clock's error moves it, its offset cancels out
    FROM b_step_dates
    JOIN b_steps USING (step_no)
    JOIN b_device_noons USING (controller_no, device_day)
    JOIN b_crossings AS crossings
        ON crossings.place_no = b_device_noons.place_no AND crossings.day = b_device_noons.day AND kind = anchor
)
SELECT target_no, at_s, program_order, level, step_no
FROM fired
JOIN b_steps USING (step_no)
JOIN b_sites USING (site_no)
WHERE at_s >= start_s - 366 * 86400 AND at_s < greatest(end_s, step_horizon_s)
ORDER BY target_no, at_s, program_order;

-- Steps that disagree at one instant; where a jump of the device's clock brings them together nobody is to blame.
CREATE OR REPLACE TEMP TABLE b_conflicts AS
WITH meetings AS (   -- neighbours, in the order of b_firings
    SELECT target_no, at_s, step_no,
        target_no = lag(target_no) OVER () AND at_s = lag(at_s) OVER () AND level <> lag(level) OVER () AS disagree
    FROM b_firings
)
SELECT DISTINCT target_no, at_s
FROM meetings
JOIN b_steps USING (target_no, step_no)
JOIN b_sites USING (site_no)
ANTI JOIN clock_offsets AS jump ON jump.clock_no = b_steps.clock_no AND jump.start_s = at_s
WHERE disagree AND at_s >= b_sites.start_s AND at_s < end_s;
