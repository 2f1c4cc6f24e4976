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

SELECT site_id, 'step' AS subject_kind, controller_id || '/' || event_id AS subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, NULL::DATE AS first_date, NULL::DATE AS last_date,
    'Fires on no target within 366 days.' AS summary,
    format('Row {:d} of the step table: {} at {}{}{}.', events.source_row, action, anchor,
        coalesce(' of calendar ' || calendar, ''),
        coalesce(' from ' || season_from || ' to ' || season_until, '')) AS seen,
    CASE WHEN controller_id || '/' || event_id IN (SELECT subject_id FROM relied_on WHERE subject_kind = 'step')
        THEN 'Ask what it was for, and who relies on the light that it acts on. Until that is known it stays as it is.'
        ELSE 'Ask what it was for; then give it dates that come, or delete it.'
    END AS remedy,
    NULL AS missing
FROM silent_steps JOIN events USING (controller_id, event_id) JOIN controllers USING (controller_id)
ORDER BY site_id, subject_id
