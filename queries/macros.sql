-- Small formulas with a name. Angles in degrees.

CREATE MACRO epoch_day(d) AS (d - DATE '1970-01-01')::BIGINT;   -- seconds of days past 2038 need the width
CREATE MACRO day_date(day) AS DATE '1970-01-01' + day::INTEGER;
CREATE MACRO floor_day(t_s) AS floor(t_s / 86400.0)::BIGINT;             -- day of an epoch second, also before 1970
CREATE MACRO utc(t_s) AS make_timestamp(t_s * 1000000);                   -- epoch second to instant
CREATE MACRO utc_days(start_s, end_s) AS range(start_s // 86400, (end_s - 1) // 86400 + 1);  -- touched by [start, end)
CREATE MACRO seconds(from_utc, until_utc) AS (epoch_us(until_utc) - epoch_us(from_utc)) // 1000000;

CREATE MACRO sind(a) AS sin(radians(a));
CREATE MACRO cosd(a) AS cos(radians(a));
CREATE MACRO parabola(c0, c1, c2, x) AS c0 + c1 * x + c2 * x * x;

-- Zenith distances as seen from the Earth's centre: from its surface the sun stands lower by the solar parallax,
-- 8.794 arc seconds at the horizon (IAU). Sunrise and sunset: 50' below the horizon; civil twilight: 6 degrees.
CREATE MACRO horizon_zenith() AS 90 + 50 / 60.0 - 8.794 / 3600;
CREATE MACRO civil_zenith() AS 96 - 8.794 / 3600;

-- Sine of the sun's altitude at its highest and at its lowest.
CREATE MACRO culmination(latitude, declination) AS
    sind(latitude) * sind(declination) + cosd(latitude) * cosd(declination);
CREATE MACRO anticulmination(latitude, declination) AS
    sind(latitude) * sind(declination) - cosd(latitude) * cosd(declination);

-- Degrees that the sphere turns between a transit and the zenith distance; held to 0..180 where it grazes.
CREATE MACRO hour_angle(latitude, declination, zenith) AS degrees(acos(greatest(-1, least(1,
    (cosd(zenith) - sind(latitude) * sind(declination)) / (cosd(latitude) * cosd(declination))))));

-- Days from 12:00 UTC at which the sun stands at hour angle turn * 360 (0 = upper transit).
CREATE MACRO transit_x(longitude, turn, eqt0, eqt1, eqt2) AS
    turn - longitude / 360 - parabola(eqt0, eqt1, eqt2, turn - longitude / 360 - eqt0 / 1440) / 1440;
CREATE MACRO crossing_x(longitude, direction, latitude, zenith, x, decl0, decl1, decl2, eqt0, eqt1, eqt2) AS
    -longitude / 360 - parabola(eqt0, eqt1, eqt2, x) / 1440
    + direction * hour_angle(latitude, parabola(decl0, decl1, decl2, x), zenith) / 360;

CREATE MACRO weekday(day) AS (day + 3) % 7;   -- Monday 0 … Sunday 6; 1970-01-01 was a Thursday
CREATE MACRO month_day(day) AS
    month(day_date(day)) * 100 + day(day_date(day));
-- Season edges are MMDD numbers (every year, may wrap over New Year) or YYYYMMDD numbers, both ends included.
CREATE MACRO in_season(day, from_no, until_no) AS CASE
    WHEN from_no > 9999 THEN
        year(day_date(day)) * 10000 + month_day(day) BETWEEN from_no AND until_no
    WHEN from_no <= until_no THEN month_day(day) BETWEEN from_no AND until_no
    ELSE month_day(day) >= from_no OR month_day(day) <= until_no
END;

CREATE MACRO centilevel(level) AS round(level * 100)::BIGINT;
-- kWh of a connected load over seconds times hundredths of a per cent of level.
CREATE MACRO full_kwh(watts, centilevel_s) AS watts * centilevel_s / 10000 / 3600000;

CREATE MACRO soon_days() AS 60;   -- how far ahead "soon" looks; clocks.py makes the offsets reach a little further
-- A rule's threshold as applied; NULL where the rule is switched off.
CREATE MACRO threshold(of_rule, called) AS (SELECT value FROM thresholds WHERE rule = of_rule AND name = called);
CREATE MACRO severity_place(severity) AS list_position(['critical', 'high', 'medium', 'low'], severity);
-- A cell of a CSV file, as text. Text that a spreadsheet would take for a formula is shielded; numbers never are.
CREATE MACRO csv_cell(cell) AS CASE
    WHEN typeof(cell) = 'VARCHAR' AND regexp_matches(cell::VARCHAR, '^[=+\-@\t\r]') THEN '''' || cell::VARCHAR
    ELSE cell::VARCHAR
END;
