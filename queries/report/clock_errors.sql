-- What these devices show minus local time, stretch by stretch; only stretches that hold on a whole audited date.
SELECT controller_id, error_s, first_date, last_date
FROM clock_errors JOIN controllers USING (controller_id)
WHERE whole_dates > 0 AND site_id IN (FROM report_sites)
ORDER BY controller_id, first_date
