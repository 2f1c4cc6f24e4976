-- Listed dates on which a device runs an ordinary program: the circuit that is on longest while closed, and how many are.

CREATE TEMP TABLE unprogrammed_dates AS
WITH lit AS (
    SELECT exposures.circuit_id, controller_id, site_id, date,
        sum(seconds(exposures.start_utc, exposures.end_utc)) / 60 AS lit_minutes
    FROM exposures
    JOIN circuits USING (circuit_id)
    JOIN controllers USING (controller_id)
    JOIN site_days USING (site_id)
    WHERE kind = 'lit-on-listed-date'
      AND exposures.start_utc >= site_days.start_utc AND exposures.start_utc < site_days.end_utc
    GROUP BY ALL
    HAVING lit_minutes > threshold('holiday-program-missing', 'lit_minutes')
), bare AS (
    SELECT controller_id, date, string_agg(calendar, ', ' ORDER BY calendar) AS calendars
    FROM bare_listed_dates
    WHERE site_id IN (SELECT site_id FROM hours)
    GROUP BY controller_id, date
)
SELECT controller_id, site_id, date, calendars, count(*) AS circuits,
    arg_min(circuit_id, (-lit_minutes, circuit_id)) AS shown_circuit, max(lit_minutes) AS shown_minutes
FROM bare JOIN lit USING (controller_id, date)
GROUP BY controller_id, site_id, date, calendars;
