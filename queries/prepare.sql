-- Once before the batches: which offset holds at an instant, and which answers for which local time, on every clock.

INSERT INTO zone_offsets
SELECT map_from_entries(list({'clock': clock, 'offsets': offsets} ORDER BY clock))
FROM (
    SELECT clock, list({'start_s': start_s, 'offset_s': offset_s} ORDER BY start_s) AS offsets
    FROM clock_offsets JOIN clocks USING (clock_no) GROUP BY clock
);

CREATE TABLE site_numbers AS
SELECT row_number() OVER (ORDER BY site_id)::INTEGER AS site_no, site_id FROM sites;

-- A clock first reaches local time L at greatest(L - offset_s, not_before_s), with the row whose local range holds
-- L: a time that a jump skips is reached at the jump, a time that comes twice the first time.
CREATE TABLE clock_reach AS
WITH ranges AS (
    SELECT clock_no, offset_s, start_s AS not_before_s,
        coalesce(max(end_s + offset_s) OVER (
            PARTITION BY clock_no ORDER BY start_s ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
        ), start_s + offset_s) AS from_local_s,
        end_s + offset_s AS until_local_s
    FROM clock_offsets
), near AS (
    SELECT ranges.*, epoch_day(first_date) - 370 AS first_day, epoch_day(first_date) + greatest(days, 366) + 4 AS last_day
    FROM ranges CROSS JOIN period WHERE from_local_s < until_local_s
)
SELECT clock_no, unnest(range(
        greatest(floor_day(from_local_s), first_day), least(floor_day(until_local_s - 1), last_day) + 1
    )) AS local_day,
    from_local_s, until_local_s, offset_s, not_before_s
FROM near;

-- A clock last leaves local time L at least(L - offset_s, not_after_s): a skipped time at the jump, a doubled one
-- the second time, also where it is the first second of the doubled hour.
CREATE TABLE clock_leave AS
WITH ranges AS (
    SELECT clock_no, offset_s, end_s AS not_after_s,
        start_s + offset_s AS from_local_s,
        coalesce(min(start_s + offset_s) OVER (
            PARTITION BY clock_no ORDER BY start_s ROWS BETWEEN 1 FOLLOWING AND UNBOUNDED FOLLOWING
        ), end_s + offset_s) AS until_local_s
    FROM clock_offsets
), near AS (
    SELECT ranges.*, epoch_day(first_date) - 8 AS first_day, epoch_day(first_date) + days + 4 AS last_day
    FROM ranges CROSS JOIN period WHERE from_local_s < until_local_s
)
SELECT clock_no, unnest(range(
        greatest(floor_day(from_local_s), first_day), least(floor_day(until_local_s - 1), last_day) + 1
    )) AS local_day,
    from_local_s, until_local_s, offset_s, not_after_s
FROM near;
