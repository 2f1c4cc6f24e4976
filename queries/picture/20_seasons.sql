-- On which dates something stands out, as a season in words. Rules say what stands out, by their own thresholds.

CREATE OR REPLACE TEMP MACRO date_words(picture_day) AS (   -- the year is said where there are several
    SELECT CASE WHEN days > 366 THEN strftime(first_date + picture_day::INTEGER, '%-d %B %Y')
                ELSE strftime(first_date + picture_day::INTEGER, '%-d %B') END
    FROM period
);

-- said_s: the length that is told of a stretch. In the morning that is from sunrise, in the evening until sunset:
-- daylight as figures have it begins a margin after the one and ends a margin before the other.
CREATE OR REPLACE TEMP TABLE picture_stretches AS
WITH named AS (
    SELECT circuit_no, clock_no, kind AS judged_by, epoch_us(start_utc) // 1000000 AS start_s, epoch_us(end_utc) // 1000000 AS end_s,
        CASE WHEN kind <> 'lit-in-daylight' THEN kind
             WHEN start_utc = span_start_utc AND end_utc = span_end_utc THEN 'lit all day'
             WHEN start_utc = span_start_utc THEN 'lit in the morning'
             WHEN end_utc = span_end_utc THEN 'lit in the evening'
             ELSE 'lit by day' END AS kind
    FROM exposures JOIN picture_circuits USING (circuit_id)
    WHERE exposures.kind IN ('lit-in-daylight', 'dark-while-open', 'dark-around-closing', 'duty-not-met')
)
SELECT circuit_no, clock_no, kind, start_s, end_s,
    end_s - start_s + CASE WHEN kind IN ('lit in the morning', 'lit in the evening') THEN daylight_margin_s ELSE 0 END AS said_s
FROM named CROSS JOIN period
WHERE end_s - start_s > threshold(judged_by, 'stretch_minutes') * 60
   OR judged_by = 'lit-in-daylight' AND end_s - start_s = threshold(judged_by, 'stretch_minutes') * 60
UNION ALL      -- a device's wrong clock, where it changes what the circuit does; the error is the kind
SELECT circuit_no, clock_no, 'clock ' || error_s, epoch_us(start_utc) // 1000000, epoch_us(end_utc) // 1000000, NULL
FROM clock_errors JOIN picture_circuits USING (controller_id)
WHERE whole_dates > 0 AND abs(error_s) > 60 AND circuit_no IN (FROM picture_otherwise);

CREATE OR REPLACE TEMP TABLE picture_seasons AS
WITH begun AS (
    SELECT stretches.*, day AS first_day
    FROM picture_stretches AS stretches ASOF JOIN picture_dates AS dates
        ON dates.clock_no = stretches.clock_no AND dates.start_s <= stretches.start_s
), dated AS (      -- the dates of each stretch, and the last date of those before it
    SELECT circuit_no, kind, first_day, dates.day AS last_day,
        max(dates.day) OVER (PARTITION BY circuit_no, kind ORDER BY first_day, dates.day
                             ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS day_before
    FROM (SELECT *, end_s - 1 AS last_s FROM begun) AS begun ASOF JOIN picture_dates AS dates
        ON dates.clock_no = begun.clock_no AND dates.start_s <= begun.last_s
), pauses AS (     -- the longest: from date to date, and in a whole year round its end
    SELECT circuit_no, kind, any_value(days) AS days, any_value(days) BETWEEN 360 AND 366 AS whole_year,
        min(first_day) AS least_day, max(last_day) AS most_day,
        sum(greatest(last_day - greatest(first_day, coalesce(day_before + 1, 0)) + 1, 0))::BIGINT AS dates,
        coalesce(max(first_day - day_before), 0) AS inner_gap, least_day + any_value(days) - most_day AS outer_gap,
        CASE WHEN outer_gap >= inner_gap THEN most_day ELSE arg_max(day_before, (first_day - day_before, day_before)) END AS day_before,
        greatest(inner_gap, outer_gap) AS gap
    FROM dated CROSS JOIN period GROUP BY circuit_no, kind
), seasons AS (
    SELECT circuit_no, kind, dates, days, whole_year AND gap <= 28 OR dates = days AS all_through,
        CASE WHEN whole_year THEN day_before ELSE most_day END AS last_day,
        CASE WHEN whole_year THEN (day_before + gap) % days ELSE least_day END AS first_day
    FROM pauses
)
SELECT circuit_no, kind, dates,
    CASE
        WHEN dates = 1 THEN 'on ' || date_words(first_day)
        WHEN dates = days THEN 'every day'
        WHEN all_through THEN format('on {:d} days of the year', dates)
        ELSE CASE WHEN dates = (last_day - first_day + days) % days + 1 THEN '' ELSE format('on {:d} days ', dates) END
            || format('from {} to {}', date_words(first_day), date_words(last_day))
    END AS words
FROM seasons;
