-- When the sun's centre crosses an altitude at every place that this batch needs, to the second.
-- Keyed by solar day: the crossing that rises to a solar transit, and the one that sets from it, belong to it.
-- Hour angle after NOAA's solar calculator; altitudes as in the US Naval Observatory's definitions of sunrise,
-- sunset (-50') and civil twilight (-6 degrees), elevation 0.
-- Reads b_place_days(place_no, latitude, longitude, day), b_place_kinds(place_no, kind) and sun_days.

CREATE OR REPLACE TEMP TABLE b_transits AS
SELECT
    place_no, latitude, longitude, day,
    -- x: days from 12:00 UTC of this day; two rounds settle the equation of time
    transit_x(longitude, 0, eqt0, eqt1, eqt2) AS noon_x,
    transit_x(longitude, -0.5, eqt0, eqt1, eqt2) AS before_x,   -- lower transits either side
    transit_x(longitude, 0.5, eqt0, eqt1, eqt2) AS after_x,
    parabola(decl0, decl1, decl2, noon_x) AS noon_decl,
    parabola(decl0, decl1, decl2, before_x) AS before_decl,
    parabola(decl0, decl1, decl2, after_x) AS after_decl,
    decl0, decl1, decl2, eqt0, eqt1, eqt2
FROM b_place_days JOIN sun_days USING (day);

CREATE OR REPLACE TEMP TABLE b_crossings AS
WITH events (kind, direction, zenith) AS (
    VALUES ('sunrise', -1, horizon_zenith()), ('sunset', 1, horizon_zenith()),
           ('dawn', -1, civil_zenith()), ('dusk', 1, civil_zenith())
), first_guess AS (   -- the sun is above the altitude at noon, and below it at the lower transit on this side
    SELECT *, noon_x + direction * hour_angle(latitude, noon_decl, zenith) / 360 AS x1
    FROM b_transits JOIN b_place_kinds USING (place_no) JOIN events USING (kind)
    WHERE culmination(latitude, noon_decl) >= cosd(zenith)
      AND anticulmination(latitude, CASE WHEN direction < 0 THEN before_decl ELSE after_decl END) < cosd(zenith)
), refined AS (       -- declination and equation of time at the guess, twice more
    SELECT *, crossing_x(longitude, direction, latitude, zenith, x1, decl0, decl1, decl2, eqt0, eqt1, eqt2) AS x2,
    FROM first_guess
), settled AS (
    SELECT *, crossing_x(longitude, direction, latitude, zenith, x2, decl0, decl1, decl2, eqt0, eqt1, eqt2) AS x3,
    FROM refined
)
SELECT place_no, day, kind, round((day + 0.5 + x3) * 86400)::BIGINT AS at_s
FROM settled;
