--: name = "holiday-shutoff"
--: place = 3
--: title = "Off on holidays, then back to the ordinary program"
--: of_code = true
--: rests_on = "program"
--: test = "With other light wherever light must stay, enter tomorrow as a holiday on the device, see that the circuit stays off all day, and that the ordinary program is back on the day after; then take the date out again."
--: nobody = "No interior circuit in use is in the export: nothing is shown about interior lighting, which may hang on other switches."
--: absent = "insufficient data"
--: reads = ["circuits", "events", "sensors", "hours", "closures"]
--
-- Every date that closures list after the device was read, under a calendar or not: a closure closes the site.
-- Consistent: by steps of the date's calendar the circuit stays off for the date, for as long as the edition asks, and
-- comes on again after it. Contrary: it is on on such a date, or the stretch is too short. No dates ahead, or dates on
-- which the ordinary program is off anyway, prove nothing: neither that the feature is there nor that it is not.
--
-- What the evening before leaves on is that evening's until the margin after its closing, by unknown hours until 06:00.
-- Light beyond that counts as the date's: contrary where it makes the stretch too short, or where no length is asked for
-- and it lasts past 06:00, which no evening does; else it is left open, for the stretch after it may be what is asked for.
-- So does a date on which the program is off and an occupancy sensor beside it may bring light.

WITH scope AS (
    SELECT *, limit_of(edition, item, 'off_hours') AS off_hours FROM e_scope WHERE item = 'holiday-shutoff'
), listed AS (
    SELECT circuit_id, date, any_value(calendar) AS calendar,
        arg_min(e_closures.source_file, e_closures.source_row) AS file, min(e_closures.source_row) AS row,
        bool_or(coalesce((circuit_id, calendar) IN (SELECT (circuit_id, calendar)
            FROM e_steps WHERE calendar IS NOT NULL), false)) AS mapped,
        any_value(day_start_s) AS day_start_s, any_value(day_end_s) AS day_end_s
    FROM scope JOIN e_closures USING (site_id)
    WHERE date > (local(timezone, read_at_utc))::DATE
    GROUP BY circuit_id, date
), lit AS (
    SELECT circuit_id, from_s, until_s FROM e_overlaps WHERE kind = 'period' AND level > 0
), evenings AS (     -- until when light of the evening before is that evening's
    SELECT circuit_id, date, day_start_s + 21600 AS morning_s, CASE WHEN hours_known
        THEN greatest(day_start_s, coalesce(closes_s + (SELECT hours_margin_s FROM period), 0))
        ELSE day_start_s + 21600 END AS evening_until_s
    FROM (SELECT listed.*, site_id, hours_known, day_start_s - 1 AS before_s FROM listed JOIN scope USING (circuit_id)) AS dated
    ASOF LEFT JOIN e_open ON e_open.site_id = dated.site_id AND before_s >= opens_s
), light AS (         -- the light of each date: begun on it, held all through it, or left on from the evening before
    SELECT circuit_id, date, greatest(from_s, day_start_s) AS on_s, least(until_s, day_end_s) AS off_s,
        from_s < day_start_s AND until_s < day_end_s AS left_on
    FROM listed JOIN lit USING (circuit_id) WHERE from_s < day_end_s AND until_s > day_start_s
), on_dates AS (
    SELECT circuit_id, date, count(*) FILTER (NOT left_on) > 0 AS begun,
        min(on_s) FILTER (NOT left_on OR off_s > evening_until_s + slack_s()) AS on_s,
        arg_min(off_s, on_s) FILTER (NOT left_on OR off_s > evening_until_s + slack_s()) AS off_s,
        coalesce(bool_or(left_on AND off_s > evening_until_s + slack_s()), false) AS spills,
        coalesce(bool_or(left_on AND off_s > greatest(evening_until_s, morning_s) + slack_s()), false) AS spills_far
    FROM light JOIN evenings USING (circuit_id, date) GROUP BY circuit_id, date
), sensed AS (
    SELECT circuit_id, date, sum(least(until_s, day_end_s) - greatest(from_s, day_start_s)) AS sensed_s
    FROM listed JOIN e_overlaps USING (circuit_id)
    WHERE kind = 'period' AND conditional AND from_s < day_end_s AND until_s > day_start_s
    GROUP BY circuit_id, date
), around AS (        -- the stretch in which it is off, around the date's end
    SELECT circuit_id, date, max(until_s) FILTER (until_s <= day_end_s) AS off_from_s, min(from_s)
        FILTER (from_s >= day_end_s) AS on_again_s
    FROM listed JOIN lit USING (circuit_id) GROUP BY circuit_id, date
), dates AS (
    SELECT listed.*, on_s, off_s, on_again_s,
        (coalesce(on_again_s, end_s) - coalesce(off_from_s, start_s)) / 3600 AS hours_off,
        coalesce(begun, false) OR CASE WHEN off_hours IS NULL THEN coalesce(spills_far, false)
            ELSE coalesce(spills, false) AND hours_off < off_hours END AS turns_on,
        NOT turns_on AND hours_off < coalesce(off_hours, 0) AS too_short,
        NOT turns_on AND NOT too_short AND coalesce(spills, false) AS spilt,
        NOT turns_on AND NOT too_short AND coalesce(sensed_s, 0) > slack_s() AS watched
    FROM listed JOIN scope USING (circuit_id)
    LEFT JOIN on_dates USING (circuit_id, date) LEFT JOIN around USING (circuit_id, date)
    LEFT JOIN sensed USING (circuit_id, date)
), totals AS (
    SELECT circuit_id, count(*) AS dates, count(*) FILTER (turns_on) AS lit_dates,
        count(*) FILTER (too_short) AS short_dates,
        count(*) FILTER (mapped AND NOT turns_on AND NOT too_short AND on_again_s IS NOT NULL) AS shown_dates,
        count(*) FILTER (mapped) AS mapped_dates, min(hours_off) FILTER (NOT turns_on) AS least_hours,
        count(*) FILTER (spilt) AS spilt_dates, count(*) FILTER (watched) AS watched_dates,
        arg_min({'on_s': on_s, 'off_s': off_s, 'hours': hours_off}, date) FILTER (spilt) AS spill,
        min(date) FILTER (watched) AS first_watched,
        min(date) AS first_listed, max(date) AS last_listed,
        arg_min({'date': date, 'on_s': on_s, 'off_s': off_s, 'hours': hours_off, 'calendar': calendar, 'file': file,
            'row': row, 'whole': on_s = day_start_s AND off_s = day_end_s, 'lit': turns_on}, date)
            FILTER (turns_on OR too_short) AS bad,
        min(date) FILTER (turns_on OR too_short) AS first_bad, max(date) FILTER (turns_on OR too_short) AS last_bad
    FROM dates GROUP BY circuit_id
), decided AS (
    SELECT scope.*, totals.* EXCLUDE (circuit_id), local(timezone, utc(bad.on_s)) AS bad_on, local(timezone,
        utc(bad.off_s)) AS bad_off,
        CASE
            WHEN claimed_at_night THEN claim_outcome
            WHEN steps = 0 AND occupancy_sensors > 0 THEN 'not applicable'
            WHEN first_bad IS NOT NULL THEN 'contrary'
            WHEN spilt_dates > 0 OR watched_dates > 0 THEN 'insufficient data'
            WHEN shown_dates > 0 THEN 'consistent'
            ELSE 'insufficient data'
        END AS outcome
    FROM scope LEFT JOIN totals USING (circuit_id)
)
SELECT site_id, 'circuit' AS subject_kind, circuit_id AS subject_id, outcome,
    CASE
        WHEN claimed_at_night THEN claim_words || ' It is not held against the holidays.'
        WHEN steps = 0 AND occupancy_sensors > 0
            THEN format('No program: occupancy sensor {} alone acts on it.', occupancy_ids)
        WHEN dates IS NULL THEN 'No closure after the reading is in the export: past or missing dates do not show '
            || 'whether '
            || 'the device has a holiday feature, nor what it does on the next holiday.'
        WHEN bad.lit THEN format('Of {} after the reading {} light on. The first is {} ({}): on {}.',
            number_words(dates, 'listed date'), has_words(lit_dates), day_words(bad.date),
            coalesce('calendar ' || bad.calendar, 'no calendar is given'),
            CASE WHEN bad.whole THEN 'all through' ELSE format('from {} to {}', clock_words(bad_on), end_words(bad_on,
                bad_off))
                END)
        WHEN first_bad IS NOT NULL THEN format('Around {} it is off for {:.1f} h only; {:g} h are asked for.',
            strftime(bad.date, '%-d %B %Y'),
            bad.hours, off_hours)
        WHEN spilt_dates > 0 THEN format('On {} after the reading light of the evening before burns on, the first from {} '
            || 'to {}; then it is off for {:.1f} h.', number_words(spilt_dates, 'listed date'),
            when_local(local(timezone, utc(spill.on_s))), clock_words(local(timezone, utc(spill.off_s))), spill.hours)
        WHEN watched_dates > 0 THEN format('It is programmed off on {} after the reading, but occupancy sensor {} may '
            || 'bring it on, first on {}.', number_words(dates, 'listed date'), occupancy_ids, day_words(first_watched))
        WHEN shown_dates > 0 THEN format('On {} after the reading it stays off by steps of the calendar (at least '
            || '{:.1f} h), and comes on again '
            || 'after {}.', number_words(shown_dates, 'listed date'), least_hours, CASE WHEN shown_dates = 1 THEN 'it'
                ELSE 'each' END)
        WHEN mapped_dates > 0 THEN format('It is off on {} after the reading, but is not seen to come on again before '
            || 'the audited period ends.',
            number_words(dates, 'listed date'))
        ELSE format('It is off on {} after the reading, but by its ordinary program: no step of a calendar acts on it, '
            || 'and none that '
            || 'would switch it off on another date.', number_words(dates, 'listed date'))
    END AS said,
    CASE WHEN outcome = 'contrary' THEN first_bad WHEN outcome = 'consistent' THEN first_listed END AS first_date,
    CASE WHEN outcome = 'contrary' THEN last_bad WHEN outcome = 'consistent' THEN last_listed END AS last_date,
    CASE WHEN outcome = 'contrary' THEN utc(CASE WHEN bad.lit THEN bad.on_s END)
        WHEN outcome = 'insufficient data' THEN utc(spill.on_s) END AS example_utc,
    NULL::DOUBLE AS minutes, NULL::DOUBLE AS kwh,
    CASE WHEN off_hours IS NULL THEN [] ELSE ['off_hours'] END AS limits, [circuit_id] AS circuits,
    CASE WHEN outcome = 'contrary' THEN bad.file ELSE source_file END AS source_file,
    CASE WHEN outcome = 'contrary' THEN bad.row ELSE source_row END AS source_row
FROM decided
ORDER BY site_id, subject_id
