--: name = "outlier"
--: title = "Unlike its peers"
--: severity = "low"
--: subject = "circuit"
--: needs = ["hours", "site_type"]
--: fix = "device"
--: after = ["sun-location-off"]
--: params.peers = { default = 12, unit = "circuits", meaning = "with fewer peers nothing is said" }
--: params.distance = { default = 5, unit = "times the peers' usual spread", meaning = "further than this from their median is far" }
--: params.hours_share = { default = 0.5, unit = "share of the peers' median", meaning = "yearly hours that differ by less are let be" }
--: params.least_hours = { default = 500, unit = "h a year", meaning = "yearly hours that differ by less are let be" }
--: params.off_minutes = { default = 120, unit = "min", meaning = "an off time that differs by less is let be" }
--: params.evening_minutes = { default = 360, unit = "min after closing", meaning = "off times are compared where half of the peers are off by then" }
--
-- What goes wrong. One site's program was copied from another kind of site, typed with a wrong hour, or left as it was
-- when all others were changed. It breaks no rule that can be written down; it only differs from what all others do.
-- Why it matters. What is rare in a portfolio is either a reason worth knowing or a mistake that nobody has seen.
-- On site. Ask what is different here before anything else.
-- What good looks like. Circuits of one area at sites of one type run alike, and whoever differs can say why.
-- How it is judged. The circuit counts with its peers. Peers: circuits in use, not left in hand, of the same area at
-- sites of the same type (a portfolio that names no types has no peers). Compared are the hours on in a year, and the
-- minutes from closing to the first off. The usual spread is the larger of 1.4826 times the median absolute deviation
-- and the middle half's width over 1.349: both are the standard deviation where values are normal, and neither is moved
-- by a few strangers. More light than the peers' is not judged where people rely on it (egress, security, a duty) or
-- where an exemption is claimed; less light is.
-- Source: Iglewicz and Hoaglin, How to Detect and Handle Outliers (1993), for the median absolute deviation (from memory);
-- its usual limit is 3.5; ours and the other thresholds: common practice, no source.

WITH scope AS (
    SELECT site_id, controller_id, circuit_id, area, lower(trim(site_type)) AS site_type, must_be_lit, exempt_reason,
        on_minutes / 60 * 365 / days AS hours, off_after_closing_minutes AS off_minutes,
        site_id IN (SELECT site_id FROM hours) AS hours_known, read_at_utc,
        area IN ('egress', 'security') OR must_be_lit IS NOT NULL AS relied_on
    FROM circuit_figures
    JOIN circuits USING (controller_id, circuit_id)
    JOIN controllers USING (site_id, controller_id)
    JOIN sites USING (site_id)
    CROSS JOIN period
    WHERE coalesce(circuits.hold, controllers.hold) IS NULL
), peers AS (     -- the circuit itself is one of the group
    SELECT area, site_type,
        count(*) AS number, median(hours) AS hours_middle,
        quantile_cont(hours, 0.25) AS hours_low, quantile_cont(hours, 0.75) AS hours_high,
        greatest(1.4826 * mad(hours), (hours_high - hours_low) / 1.349, 1) AS hours_spread,
        count(off_minutes) AS off_number, median(off_minutes) AS off_middle,
        greatest(1.4826 * mad(off_minutes),
                 (quantile_cont(off_minutes, 0.75) - quantile_cont(off_minutes, 0.25)) / 1.349, 1) AS off_spread
    FROM scope WHERE site_type IS NOT NULL
    GROUP BY area, site_type
), measured AS (
    SELECT *, hours - hours_middle AS hours_apart, off_minutes - off_middle AS off_apart,
        abs(hours_apart) / hours_spread AS hours_distance, abs(off_apart) / off_spread AS off_distance,
        number > $peers AND hours_distance > $distance
            AND abs(hours_apart) > greatest($hours_share * hours_middle, $least_hours) AS hours_far,
        off_number > $peers AND off_middle <= $evening_minutes AND off_distance > $distance
            AND abs(off_apart) > $off_minutes AS off_far
    FROM scope JOIN peers USING (area, site_type)
), judged AS (
    SELECT *, CASE WHEN hours_far THEN hours_apart ELSE off_apart END > 0 AS more
    FROM measured
    WHERE hours_far OR off_far
), told AS (
    SELECT *, CASE WHEN hours_distance > 100 THEN 'more than 100' ELSE format('{:.1f}', hours_distance) END AS hours_times,
        CASE WHEN off_distance > 100 THEN 'more than 100' ELSE format('{:.1f}', off_distance) END AS off_times,
        device_first(controller_id, circuit_id, read_at_utc) AS device_first
    FROM judged
    WHERE NOT more OR NOT relied_on AND exempt_reason IS NULL
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, NULL AS severity,
    NULL AS minutes, NULL AS kwh, first_date, (first_date + days - 1)::DATE AS last_date,
    CASE WHEN hours_far
        THEN format('Programmed {}; the median of the {:d} circuits like it is {} a year.',
            CASE WHEN hours > 0 THEN format('on for {} a year', minutes_words(hours * 60)) ELSE 'never on' END,
            number, minutes_words(hours_middle * 60))
        ELSE format('Goes off {} after closing; the median of the {:d} circuits like it is {}.',
            minutes_words(off_minutes), off_number, minutes_words(off_middle))
    END AS summary,
    format('Its peers are the {} circuits at sites of the type {}.', area, site_type)
        || CASE WHEN hours_far THEN format(' Half of them are on for {} to {} a year; it lies {} times their usual '
            || 'spread of {} away (far is more than {:g}).', minutes_words(hours_low * 60), minutes_words(hours_high * 60),
            hours_times, minutes_words(hours_spread * 60), $distance::DOUBLE) ELSE '' END
        || CASE WHEN off_far THEN format(' They first go off {} after closing (median), it {} after closing: {} times '
            || 'their usual spread of {} away (far is more than {:g}).', minutes_words(off_middle), minutes_words(off_minutes),
            off_times, minutes_words(off_spread), $distance::DOUBLE) ELSE '' END
        || also(steps_words(controller_id, circuit_id)) AS seen,
    CASE
        WHEN device_first IS NOT NULL THEN 'Ask what is different here. ' || device_first || '.'
        WHEN more
        THEN 'Ask what is different here: other hours, another use, people who stay late. If nothing is, give it the '
             || 'program of a peer.'
            || also(off_words)
        ELSE 'Ask whether people miss this light, and what is different here. If nothing is, bring it to what its '
             || 'peers do.'
            || CASE WHEN relied_on THEN '' ELSE also(on_words) END
    END AS remedy,
    NULL AS missing
FROM told LEFT JOIN peer_words USING (circuit_id) CROSS JOIN period
UNION ALL   -- no peers without a type, where other sites have one
SELECT site_id, 'circuit', circuit_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'site_type'
FROM scope WHERE site_type IS NULL AND EXISTS (FROM peers)
UNION ALL   -- its hours on are like its peers'; when it should go off nobody knows
SELECT site_id, 'circuit', circuit_id, NULL, NULL, NULL, NULL, NULL, NULL, NULL, NULL, 'hours'
FROM measured
WHERE NOT hours_known AND NOT hours_far AND off_number > $peers AND off_middle <= $evening_minutes
ORDER BY site_id, subject_id
