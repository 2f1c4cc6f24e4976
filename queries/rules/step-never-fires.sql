--: name = "step-never-fires"
--: title = "A step that never fires"
--: severity = "low"
--: subject = "step"
--: needs = []
--: fix = "device"
--
-- What goes wrong. Its dates are past, its calendar has no dates, its weekday never falls into its season, or the sun
-- does not set where it waits for sunset.
-- Why it matters. Somebody relies on it: the off for the festival that never comes, the resume for last year's date.
-- On site. Ask what the step was for; look for the calendar or the season it needs.
-- What good looks like. Every step fires within a year, or is gone.
-- Source: common practice, no source.

WITH scope AS (
    SELECT events.*, sourced, controllers.site_id, first_date, first_date + 366 AS end_date,
        controller_id || '/' || event_id AS subject_id
    FROM silent_steps
    JOIN events USING (controller_id, event_id)
    JOIN step_words USING (controller_id, event_id)
    JOIN controllers USING (controller_id)
    CROSS JOIN period
), listed AS (     -- where its calendar has dates in that time, and whether any of them is a date of its own
    SELECT subject_id, bool_or((days_mask >> weekday(epoch_day(date))) & 1 = 1 AND (season_from IS NULL OR in_season(
            epoch_day(date), replace(season_from, '-', '')::INTEGER, replace(season_until, '-', '')::INTEGER))) AS fits
    FROM scope JOIN site_closures USING (site_id, calendar)
    WHERE date >= first_date AND date < end_date
    GROUP BY subject_id
)
SELECT site_id, 'step' AS subject_kind, subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, NULL::DATE AS first_date, NULL::DATE AS last_date,
    'Fires on no target within 366 days.' AS summary,
    upper(sourced[1]) || sourced[2:] || ' does not fire within 366 days from ' || strftime(first_date, '%-d %B %Y') || ': '
        || CASE
            WHEN length(season_until) = 10 AND season_until::DATE < first_date THEN 'its dates are over'
            WHEN length(season_from) = 10 AND season_from::DATE >= end_date THEN 'its dates are yet to come'
            WHEN calendar IS NOT NULL AND subject_id NOT IN (SELECT subject_id FROM listed)
                THEN format('the closures list no date of calendar {} for this site in that time', calendar)
            WHEN subject_id IN (SELECT subject_id FROM listed WHERE NOT fits)
                THEN format('no date of calendar {} falls on its weekdays and dates', calendar)
            WHEN season_from IS NOT NULL AND len(list_filter(range(epoch_day(first_date), epoch_day(end_date)),
                    lambda day: in_season(day, replace(season_from, '-', '')::INTEGER, replace(season_until, '-', '')::INTEGER))) = 0
                THEN 'its dates do not come in that time'
            WHEN season_from IS NOT NULL AND days_mask < 127 THEN 'none of its weekdays falls within its dates'
            WHEN anchor <> 'clock' THEN format('there is no {} here on its dates', anchor)
            ELSE 'on each of its dates other steps of a calendar act instead'
        END || '.' AS seen,
    CASE WHEN subject_id IN (SELECT subject_id FROM relied_on WHERE subject_kind = 'step')
        THEN 'Ask what it was for, and who relies on the light that it acts on. Until that is known it stays as it is.'
        ELSE 'Ask what it was for; then give it dates that come, or delete it.'
    END AS remedy,
    NULL AS missing
FROM scope
ORDER BY site_id, subject_id
