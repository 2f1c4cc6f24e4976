--: name = "dark-while-open"
--: title = "Programmed dark while people are there"
--: severity = "critical"
--: subject = "circuit"
--: needs = ["hours"]
--: fix = "device"
--: params.stretch_minutes = { default = 30, unit = "min", meaning = "a longer dark stretch while open is a finding" }
--
-- What goes wrong. Fixed clock times that were right in June leave the lot dark in December; a clock misses the change
-- to standard time; AM and PM are swapped; a season or a holiday program does not know the late opening.
-- Why it matters. People fall, and people are attacked, where a lot or a way out is dark while they come and go. Courts
-- have let juries judge owners who knew that automatic lights were off. Egress paths must be lit whenever the building
-- is occupied. A report is notice: an unanswered line can hurt its owner.
-- On site. Be there half an hour after sunset on an open day. Compare the device's clock with the true time first.
-- What good looks like. On at sunset at the latest, off not before everybody has left; by sun steps or a photocontrol
-- rather than by clock times.
-- Source: NFPA 101 7.8.1 (egress lit while occupied); WAC 296-832-30015 (lots lit all night hours open, late retail);
-- Christian v. Ayers (Tenn. App. 2014). The stretch of 30 minutes: common practice, no source.

WITH scope AS (
    SELECT circuits.*, sites.*, sites.site_id IN (SELECT site_id FROM hours) AS hours_known
    FROM circuits JOIN controllers USING (controller_id) JOIN sites USING (site_id)
    WHERE coalesce(circuits.in_use, true) AND area IN ('parking', 'walkway', 'canopy', 'egress')
), totals AS (
    SELECT circuit_id, count(*) AS stretches,
        sum(seconds(start_utc, end_utc)) / 60 AS dark_minutes,
        min(start_utc) AS first_utc, max(end_utc) AS last_utc,
        arg_max(start_utc, (seconds(start_utc, end_utc), -epoch(start_utc))) AS worst_start_utc,
        arg_max(end_utc, (seconds(start_utc, end_utc), -epoch(start_utc))) AS worst_end_utc
    FROM exposures
    WHERE kind = 'dark-while-open' AND seconds(start_utc, end_utc) > $stretch_minutes * 60
    GROUP BY circuit_id
), worked AS (
    SELECT *, local(timezone, worst_start_utc) AS worst_start, local(timezone, worst_end_utc) AS worst_end
    FROM scope JOIN totals USING (circuit_id) WHERE hours_known
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, NULL AS severity,
    dark_minutes AS minutes, NULL AS kwh,
    local(timezone, first_utc)::DATE AS first_date, last_day(timezone, last_utc) AS last_date,
    format('Programmed dark while open, {} in {:d} stretch{} of more than {:d} min.',
        minutes_words(dark_minutes), stretches, CASE WHEN stretches = 1 THEN '' ELSE 'es' END,
        $stretch_minutes::BIGINT) AS summary,
    format('On {} the site is open and it is dark from {} to {}, and this circuit is programmed off ({}).',
        day_words(worst_start), clock_words(worst_start), clock_words(worst_end),
        minutes_words(seconds(worst_start_utc, worst_end_utc) / 60)) AS seen,
    CASE
        WHEN area = 'egress'
        THEN 'Go first where people walk in the dark. A way out must be lit whenever anybody is inside: check the device''s clock, date and hand switch, then have this circuit lit through every dark hour.'
        WHEN must_be_lit IS NOT NULL
        THEN 'Go first where people walk in the dark. A duty to light is recorded here: check the device''s clock, date and hand switch, then have this circuit lit through every hour that the duty names, and every dark hour with people.'
        ELSE 'Go first where people walk in the dark. Check the device''s clock, date and hand switch; then let the on come at sunset, and keep the light until everybody has left.'
    END AS remedy,
    NULL AS missing
FROM worked
UNION ALL
SELECT site_id, 'circuit', circuit_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'hours'
FROM scope WHERE NOT hours_known
ORDER BY site_id, subject_id
