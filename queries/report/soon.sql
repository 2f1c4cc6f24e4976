-- What begins within 60 days after the newest reading: open findings that do not hold yet, and clocks that will next
-- miss a change. Dates local to the site.

WITH today AS (
    SELECT newest_read_at_utc, newest_read_at_utc::DATE AS newest_date FROM period
), changes AS (    -- when a clock is next wrong after the newest reading
    SELECT controller_id, min(local(timezone, start_utc)::DATE) AS begins
    FROM clock_errors
    JOIN clock_verdicts USING (controller_id)
    JOIN controllers USING (controller_id)
    JOIN sites USING (site_id)
    CROSS JOIN today
    WHERE error_s <> nearest_s AND start_utc > newest_read_at_utc
    GROUP BY controller_id
), coming AS (
    SELECT finding_id, CASE WHEN rule = 'clock-dst-offset' THEN begins ELSE first_date END AS begins
    FROM findings LEFT JOIN changes USING (controller_id)
    WHERE status = 'open'
)
SELECT begins, finding_id, rule, severity, site_id, subject_kind, subject_id, summary
FROM coming JOIN findings USING (finding_id) CROSS JOIN today
WHERE begins > newest_date AND begins <= newest_date + 60
ORDER BY begins, severity_place(severity), site_id, rule, subject_kind, subject_id
