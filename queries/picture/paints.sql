-- How each kind of circuit is painted, whatever holds at its site and whatever it does; NULL: not at all.
-- paint: on-dark and on-dim (below full level) outside daylight; on-day in daylight, on-by-day where that is nothing
-- to point at; on-closed (interior); maybe (conditional); unlit (dark while open where people walk) and off-open (the
-- same elsewhere outdoors); unmet (a duty asks for light); around (dark as people arrive or leave, where the rule finds it).
WITH kinds AS (
    SELECT DISTINCT kind_no, indoors, walked, lit_by_day, must_be_lit FROM picture_circuits
), holding AS (       -- a bit for each of what may hold
    SELECT holds, holds & 1 > 0 AS light, holds & 2 > 0 AS daylight, holds & 4 > 0 AS open, holds & 8 > 0 AS closed,
        holds & 16 > 0 AS around, NOT light AS dark
    FROM range(32) AS every (holds)
), doing (does, lit, dimmed, conditional) AS (
    VALUES (0, false, false, false), (1, false, false, true), (2, true, true, false), (3, true, false, false)
)
SELECT kind_no, holds, does, CASE
        WHEN lit AND indoors AND closed THEN 'on-closed'
        WHEN lit AND daylight THEN CASE WHEN lit_by_day THEN 'on-by-day' ELSE 'on-day' END
        WHEN lit THEN CASE WHEN dimmed THEN 'on-dim' ELSE 'on-dark' END
        WHEN dark AND open AND NOT conditional AND NOT indoors THEN CASE WHEN walked THEN 'unlit' ELSE 'off-open' END
        WHEN CASE must_be_lit WHEN 'always' THEN true WHEN 'dark' THEN dark WHEN 'open' THEN dark AND open END THEN 'unmet'
        WHEN conditional THEN 'maybe'
        WHEN around THEN 'around'
    END AS paint
FROM kinds CROSS JOIN holding CROSS JOIN doing
ORDER BY kind_no, holds, does
