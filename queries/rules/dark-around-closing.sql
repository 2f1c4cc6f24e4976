--: name = "dark-around-closing"
--: title = "Programmed dark as people arrive or leave"
--: severity = "high"
--: subject = "circuit"
--: needs = ["hours"]
--: fix = "device"
--: after = ["dark-while-open"]
--: params.stretch_minutes = { default = 20, unit = "min", meaning = "a longer dark stretch in one of the windows is a finding" }
--
-- What goes wrong. The off stands at the minute of closing, the on at the minute of opening. The last customers are
-- still walking to their cars, the first staff unlock in the dark.
-- Why it matters. People are alone then, and carry the cash or the keys. A lot that goes dark at closing is no excuse in
-- court when somebody falls.
-- On site. Ask who locks up and when the last car leaves; be there at closing on a winter evening.
-- What good looks like. Light until at least half an hour after closing, and from half an hour before opening.
-- Source: property-management practice; the half hour and the 20 minutes: common practice, no source.

WITH scope AS (
    SELECT circuits.*, sites.*, sites.site_id IN (SELECT site_id FROM hours) AS hours_known
    FROM circuits JOIN controllers USING (controller_id) JOIN sites USING (site_id)
    WHERE coalesce(circuits.in_use, true) AND area IN ('parking', 'walkway', 'canopy', 'egress')
), totals AS (
    SELECT circuit_id, count(*) AS stretches, sum(seconds(start_utc, end_utc)) / 60 AS dark_minutes,
        min(start_utc) AS first_utc, max(end_utc) AS last_utc,
        arg_max(start_utc, (seconds(start_utc, end_utc), -epoch(start_utc))) AS worst_start_utc,
        arg_max(end_utc, (seconds(start_utc, end_utc), -epoch(start_utc))) AS worst_end_utc
    FROM exposures
    WHERE kind = 'dark-around-closing' AND seconds(start_utc, end_utc) > $stretch_minutes * 60
    GROUP BY circuit_id
), worked AS (
    SELECT *, local(timezone, worst_start_utc) AS worst_start, local(timezone, worst_end_utc) AS worst_end
    FROM scope JOIN totals USING (circuit_id)
    WHERE hours_known AND circuit_id NOT IN (SELECT subject_id FROM verdicts WHERE rule = 'dark-while-open' AND missing IS NULL)
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, NULL AS severity,
    dark_minutes AS minutes, NULL AS kwh,
    local(timezone, first_utc)::DATE AS first_date, last_day(timezone, last_utc) AS last_date,
    format('Programmed dark around closing or opening, {:d} time{}.', stretches, CASE WHEN stretches = 1 THEN '' ELSE 's' END) AS summary,
    format('On {} it is dark from {} to {} while people arrive or leave, and this circuit is programmed off ({}).',
        day_words(worst_start), clock_words(worst_start), clock_words(worst_end),
        minutes_words(seconds(worst_start_utc, worst_end_utc) / 60)) AS seen,
    'Ask when the last person leaves and the first one comes: this light must be lit for both, with half an hour to spare.' AS remedy,
    NULL AS missing
FROM worked
UNION ALL
SELECT site_id, 'circuit', circuit_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'hours'
FROM scope WHERE NOT hours_known
ORDER BY site_id, subject_id
