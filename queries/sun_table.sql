-- One row a solar day: the transit (epoch seconds) and the four crossings that belong to it.
SELECT
    round((days.day + 0.5 + noon_x) * 86400)::BIGINT AS noon_s,
    utc(any_value(at_s) FILTER (kind = 'sunrise')) AS sunrise_utc,
    utc(any_value(at_s) FILTER (kind = 'sunset')) AS sunset_utc,
    utc(any_value(at_s) FILTER (kind = 'dawn')) AS dawn_utc,
    utc(any_value(at_s) FILTER (kind = 'dusk')) AS dusk_utc
FROM b_transits AS days
LEFT JOIN b_crossings AS crossings ON crossings.day = days.day
GROUP BY ALL
ORDER BY noon_s
