-- Clocks that will be wrong, or more wrong than now, from a date within 60 days of the newest reading; and clocks of
-- which nobody can tell. By what the devices and the law of their zones do, whether the audited period reaches there
-- or not.

CREATE TEMP TABLE clock_changes AS
WITH reach AS (
    SELECT epoch(newest_read_at_utc)::BIGINT AS newest_s,
        newest_s - 2 * 86400 AS from_s, newest_s + (soon_days() + 2) * 86400 AS until_s
    FROM period
), pairs AS (     -- a device's clock and the law of its zone; few devices run a pair of their own
    SELECT DISTINCT device_clocks.clock_no AS own_no, clocks.clock_no AS law_no
    FROM device_clocks JOIN controllers USING (controller_id) JOIN sites USING (site_id) JOIN clocks ON clock = timezone
), edges AS (
    SELECT DISTINCT own_no, law_no, greatest(start_s, from_s) AS at_s, until_s
    FROM pairs JOIN clock_offsets ON clock_no IN (own_no, law_no) CROSS JOIN reach
    WHERE start_s < until_s AND end_s > from_s
), pieces AS (
    SELECT *, lead(at_s, 1, until_s) OVER (PARTITION BY own_no, law_no ORDER BY at_s) AS next_s FROM edges
), lasting AS (   -- a device that changes some hours before or after the law has not missed the change
    SELECT own_no, law_no, at_s, own.offset_s AS own_s, law.offset_s AS law_s
    FROM pieces
    JOIN clock_offsets AS own ON own.clock_no = own_no AND at_s >= own.start_s AND at_s < own.end_s
    JOIN clock_offsets AS law ON law.clock_no = law_no AND at_s >= law.start_s AND at_s < law.end_s
    WHERE next_s - at_s >= 86400
), moved AS (
    SELECT *, lag(own_s) OVER w AS own_before_s, lag(law_s) OVER w AS law_before_s,
        own_s - own_before_s AS own_moved_s, law_s - law_before_s AS law_moved_s
    FROM lasting
    WINDOW w AS (PARTITION BY own_no, law_no ORDER BY at_s)
)
SELECT own_no, law_no, own_s, law_s, own_before_s, law_before_s, own_moved_s, law_moved_s,
    utc(at_s + law_before_s) AS change_local   -- what local time is as the clocks change
FROM moved CROSS JOIN reach
WHERE at_s > newest_s AND (own_moved_s <> 0 OR law_moved_s <> 0);

CREATE TEMP TABLE clocks_ahead AS
WITH devices AS (
    SELECT controllers.*, site_today.newest_date, device_clocks.clock_no AS own_no, residual_s, clocks.clock_no AS law_no
    FROM controllers
    JOIN sites USING (site_id)
    JOIN device_clocks USING (controller_id)
    JOIN clocks ON clock = timezone
    JOIN site_today USING (site_id)
), changing AS (
    SELECT *,
        residual_s + own_before_s - law_before_s AS error_before_s, residual_s + own_s - law_s AS error_s,
        -- As the rule for missed changes has it: right in winter, or never read, says nothing of summer.
        dst_rule IS NULL AND law_moved_s <> 0 AND (
            clock_reading_local IS NULL
            OR at_reading.offset_s = least(law_s, law_before_s)
               AND abs(seconds(read_at_utc, clock_reading_local) - at_reading.offset_s) <= 300
        ) AS undecided
    FROM devices
    JOIN clock_changes USING (own_no, law_no)
    JOIN clock_offsets AS at_reading ON at_reading.clock_no = law_no
        AND epoch(read_at_utc) >= at_reading.start_s AND epoch(read_at_utc) < at_reading.end_s
    WHERE change_local::DATE BETWEEN newest_date AND newest_date + soon_days()
), worded AS (
    SELECT *,
        moved_words('Local time', law_moved_s) || ' at ' || clock_words(change_local) AS law_words,
        error_words(error_s) || ' local time' AS shown_words
    FROM changing
)
SELECT change_local::DATE AS date, site_id, controller_id, remote,
    CASE WHEN undecided THEN 'clock-unknown' ELSE 'clock' END AS kind,
    CASE
        WHEN undecided
        THEN law_words || '. Whether this device follows nobody can tell from this export: look at it then.'
        WHEN own_moved_s = 0
        THEN law_words || '; this device does not follow. From then on it shows ' || shown_words || '.'
        WHEN law_moved_s = 0
        THEN moved_words('This device', own_moved_s) || ' by itself; local time does not. From then on it shows '
            || shown_words || '.'
        ELSE law_words || ', and ' || moved_words('this device', own_moved_s) || '. From then on it shows '
            || shown_words || '.'
    END AS what
FROM worded
WHERE undecided OR own_moved_s <> law_moved_s AND abs(error_s) >= abs(error_before_s);   -- nearer the truth is no fault
