--: name = "holiday-shutoff"
--: place = 3
--: title = "Off on holidays, then back to the ordinary program"
--: of_code = true
--: rests_on = "program"
--: test = "With other light wherever light must stay, enter tomorrow as a holiday on the device, see that the circuit stays off all day, and that the ordinary program is back on the day after; then take the date out again."
--: nobody = "No interior circuit in use is in the export: nothing is shown about interior lighting, which may hang on other switches."
--: absent = "insufficient data"
--: reads = ["circuits", "events", "closures"]
--
-- Every date that closures list after the device was read, under a calendar or not: a closure closes the site.
-- Consistent: by steps of the date's calendar the circuit stays off for the date, for as long as the edition asks, and
-- comes on again after it. Contrary: it is on on such a date, or the stretch is too short. No dates ahead, or dates on
-- which the ordinary program is off anyway, prove nothing: neither that the feature is there nor that it is not.

WITH scope AS (
    SELECT *, limit_of(edition, item, 'off_hours') AS off_hours FROM e_scope WHERE item = 'holiday-shutoff'
), listed AS (
    SELECT scope.circuit_id, closures.date, any_value(closures.calendar) AS calendar,
        arg_min(closures.source_file, closures.source_row) AS file, min(closures.source_row) AS row,
        bool_or(coalesce((scope.circuit_id, closures.calendar) IN (SELECT (circuit_id, calendar)
            FROM e_steps WHERE calendar IS NOT NULL), false)) AS mapped,
        any_value(epoch_us(site_days.start_utc) // 1000000) AS day_start_s,
            any_value(epoch_us(site_days.end_utc) // 1000000) AS day_end_s
    FROM scope
    JOIN closures ON closures.site_id IN (scope.site_id, '*')
    JOIN site_days ON site_days.site_id = scope.site_id AND site_days.date = closures.date
    WHERE closures.date > (local(timezone, read_at_utc))::DATE
    GROUP BY scope.circuit_id, closures.date
), lit AS (
    SELECT circuit_id, from_s, until_s FROM e_overlaps WHERE kind = 'period' AND level > 0
), on_dates AS (      -- light that begins on the date, or holds all through it; what the evening before leaves on is not it
    SELECT circuit_id, date, count(*) FILTER (from_s >= day_start_s OR until_s >= day_end_s) AS times,
        min(greatest(from_s, day_start_s)) FILTER (from_s >= day_start_s OR until_s >= day_end_s) AS on_s,
        min(least(until_s, day_end_s)) FILTER (from_s >= day_start_s OR until_s >= day_end_s) AS off_s
    FROM listed JOIN lit USING (circuit_id)
    WHERE from_s < day_end_s AND until_s > day_start_s
    GROUP BY circuit_id, date
), around AS (        -- the stretch in which it is off, around the date's end
    SELECT circuit_id, date, max(until_s) FILTER (until_s <= day_end_s) AS off_from_s, min(from_s)
        FILTER (from_s >= day_end_s) AS on_again_s
    FROM listed JOIN lit USING (circuit_id) GROUP BY circuit_id, date
), dates AS (
    SELECT listed.*, coalesce(times, 0) > 0 AS turns_on, on_s, off_s, on_again_s,
        (coalesce(on_again_s, end_s) - coalesce(off_from_s, start_s)) / 3600 AS hours_off,
        NOT turns_on AND hours_off < coalesce(off_hours, 0) AS too_short
    FROM listed JOIN scope USING (circuit_id)
    LEFT JOIN on_dates USING (circuit_id, date) LEFT JOIN around USING (circuit_id, date)
), totals AS (
    SELECT circuit_id, count(*) AS dates, count(*) FILTER (turns_on) AS lit_dates,
        count(*) FILTER (too_short) AS short_dates,
        count(*) FILTER (mapped AND NOT turns_on AND NOT too_short AND on_again_s IS NOT NULL) AS shown_dates,
        count(*) FILTER (mapped) AS mapped_dates, min(hours_off) FILTER (NOT turns_on) AS least_hours,
        min(date) AS first_listed, max(date) AS last_listed,
        arg_min({'date': date, 'on_s': on_s, 'off_s': off_s, 'hours': hours_off, 'calendar': calendar, 'file': file,
            'row': row, 'whole': on_s = day_start_s AND off_s = day_end_s}, date)
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
        WHEN bad.on_s IS NOT NULL THEN format('Of {} after the reading {} light on. The first is {} ({}): on {}.',
            number_words(dates, 'listed date'), has_words(lit_dates), day_words(bad.date),
            coalesce('calendar ' || bad.calendar, 'no calendar is given'),
            CASE WHEN bad.whole THEN 'all through' ELSE format('from {} to {}', clock_words(bad_on), end_words(bad_on,
                bad_off))
                END)
        WHEN first_bad IS NOT NULL THEN format('Around {} it is off for {:.1f} h only; {:g} h are asked for.',
            strftime(bad.date, '%-d %B %Y'),
            bad.hours, off_hours)
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
    CASE WHEN outcome = 'contrary' THEN utc(bad.on_s) END AS example_utc,
    NULL::DOUBLE AS minutes, NULL::DOUBLE AS kwh,
    CASE WHEN off_hours IS NULL THEN [] ELSE ['off_hours'] END AS limits, [circuit_id] AS circuits,
    CASE WHEN outcome = 'contrary' THEN bad.file ELSE source_file END AS source_file,
    CASE WHEN outcome = 'contrary' THEN bad.row ELSE source_row END AS source_row
FROM decided
ORDER BY site_id, subject_id
