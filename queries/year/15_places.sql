-- Which places this batch needs the sun for, on which solar days, and for which crossings.

CREATE OR REPLACE TEMP TABLE b_place_days AS
WITH wanted AS (
    SELECT place_no, min(epoch_day(first_date)) - 3 AS first_day, max(epoch_day(first_date) + days) + 3 AS last_day
    FROM b_sites CROSS JOIN period GROUP BY place_no
    UNION ALL
    SELECT place_no, epoch_day(first_date) - 3, epoch_day(first_date) + days + 3
    FROM b_controllers CROSS JOIN period WHERE located
    UNION ALL
    SELECT place_no, min(first_day) - 2, max(last_day) + 2
    FROM b_steps JOIN b_step_days USING (step_no) WHERE anchor <> 'clock'
    GROUP BY place_no, residual_s // 86400   -- a device that lost the date looks at the sun of another year
), places AS (
    SELECT place_no, latitude, longitude FROM b_sites
    UNION ALL
    SELECT -controller_no, device_latitude, device_longitude FROM b_controllers WHERE device_latitude IS NOT NULL
), days AS (
    SELECT DISTINCT place_no, unnest(range(first_day, last_day + 1))::INTEGER AS day FROM wanted
)
SELECT place_no, latitude, longitude, day FROM days JOIN places USING (place_no);

CREATE OR REPLACE TEMP TABLE b_place_kinds AS
SELECT DISTINCT place_no, unnest(['sunrise', 'sunset']) AS kind
FROM (SELECT place_no FROM b_sites UNION ALL SELECT place_no FROM b_controllers WHERE located)
UNION
SELECT DISTINCT place_no, anchor FROM b_steps WHERE anchor <> 'clock';
