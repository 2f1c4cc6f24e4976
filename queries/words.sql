-- What findings are made of: instants, lengths, steps and causes in words.

-- Where these look into a table, what they are given must be a bare name or an expression of bare
-- names: one that is qualified by the same table's name would be taken for a column of theirs.
-- What a macro is given is written out wherever it names it: name it once, or a lookup is planned many times over.
-- A clock of a site's zone shows local(zone, t) at instant t.
-- (One lookup for all rows: a subquery that reads its row costs more to plan than most rules to run.)
CREATE MACRO local(zone, t_utc) AS t_utc + to_seconds(
    list_filter((SELECT by_clock FROM zone_offsets)[zone], lambda known: known.start_s <= epoch(t_utc))[-1].offset_s
);
CREATE MACRO last_day(zone, end_utc) AS (local(zone, end_utc - INTERVAL 1 SECOND))::DATE;   -- the end is not in it
-- To the nearest minute, as almanacs print them; seconds are for the timeline.
CREATE MACRO day_words(t_local) AS strftime(t_local + INTERVAL 30 SECOND, '%A %-d %B %Y');
CREATE MACRO clock_words(t_local) AS strftime(t_local + INTERVAL 30 SECOND, '%H:%M');
-- A length of time: "40 min", "3 h 20 min", from 100 h on whole hours with a thin space at thousands.
CREATE MACRO minutes_words(m) AS CASE
    WHEN m < 59.5 THEN format('{:d} min', round(m)::BIGINT)
    WHEN m < 5999.5 AND round(m)::BIGINT % 60 <> 0
        THEN format('{:d} h {:d} min', round(m)::BIGINT // 60, round(m)::BIGINT % 60)
    ELSE replace(format('{:,} h', round(m / 60)::BIGINT), ',', chr(8239))   -- narrow no-break space
END;
CREATE MACRO percent_words(share) AS format('{:d} %', round(share * 100)::BIGINT);
-- A clock's error: "60 min less than" or "1 h 5 min more than".
CREATE MACRO error_words(error_s) AS
    CASE WHEN abs(error_s) < 90 THEN format('{:d} s', abs(error_s))
         WHEN abs(error_s) >= 172800
             THEN replace(format('{:,} days', round(abs(error_s) / 86400)::BIGINT), ',', chr(8239))
         ELSE minutes_words(abs(error_s) / 60) END
    || CASE WHEN error_s < 0 THEN ' less than' ELSE ' more than' END;
CREATE MACRO moved_words(who, moved_s) AS
    who || CASE WHEN moved_s < 0 THEN ' goes back ' ELSE ' goes forward ' END || minutes_words(abs(moved_s) / 60);
-- One more sentence, where there is anything to say.
CREATE MACRO also(words) AS coalesce(' ' || list_transform([words], lambda w: upper(w[1]) || w[2:])[1] || '.', '');
-- Steps in words: "on 20 min after sunset", "to 40 % at 23:00", "Monday to Friday", "from 1 Oct to 31 Mar".
CREATE MACRO day_time_words(t_s) AS format('{:02d}:{:02d}', t_s // 3600, t_s // 60 % 60)
    || CASE WHEN t_s % 60 > 0 THEN format(':{:02d}', t_s % 60) ELSE '' END;
CREATE MACRO action_words(action, level) AS CASE action
    WHEN 'level' THEN format('to {:g} %', level) WHEN 'suspend' THEN 'out of service' WHEN 'resume' THEN 'back in service'
    ELSE action
END;
CREATE MACRO anchor_words(anchor, time_s, offset_s) AS CASE
    WHEN anchor = 'clock' THEN 'at ' || day_time_words(time_s)
    WHEN coalesce(offset_s, 0) = 0 THEN 'at ' || anchor
    ELSE minutes_words(abs(offset_s) / 60) || CASE WHEN offset_s < 0 THEN ' before ' ELSE ' after ' END || anchor
END;
CREATE MACRO weekday_names(mask) AS list_filter(
    ['Monday', 'Tuesday', 'Wednesday', 'Thursday', 'Friday', 'Saturday', 'Sunday'],
    lambda name, place: (mask >> (place - 1)) & 1 = 1);
CREATE MACRO days_words(mask) AS CASE
    WHEN mask = 127 THEN 'every day'
    WHEN bit_count(mask) >= 3 AND bit_count(mask + (mask & -mask)) = 1   -- one run without a gap
        THEN weekday_names(mask)[1] || ' to ' || weekday_names(mask)[-1]
    ELSE array_to_string(weekday_names(mask), ', ')
END;
CREATE MACRO edge_words(edge) AS CASE
    WHEN length(edge) = 5 THEN strftime(('2000-' || edge)::DATE, '%-d %B')   -- every year
    ELSE strftime(edge::DATE, '%-d %B %Y')
END;
-- When a step runs: "every day", "Monday to Friday from 1 October to 31 March", "on 24 December". What ends on the last
-- date that input may have is not said to end.
CREATE MACRO when_words(mask, season_from, season_until) AS CASE
    WHEN season_from IS NULL THEN days_words(mask)
    WHEN season_from = season_until AND mask = 127 THEN 'on ' || edge_words(season_from)
    WHEN season_from = season_until THEN days_words(mask) || ' on ' || edge_words(season_from)
    WHEN season_until = '2199-12-31' THEN format('{} from {} on', days_words(mask), edge_words(season_from))
    ELSE format('{} from {} to {}', days_words(mask), edge_words(season_from), edge_words(season_until))
END;
-- What a device showed when it was read, beside the true local time.
CREATE MACRO reading_words(t_utc, t_local, shown_local) AS format('Read at {} local time ({} UTC), the device showed '
    || '{}.',
    strftime(t_local, '%Y-%m-%d %H:%M:%S'), strftime(t_utc, '%H:%M:%S'), strftime(shown_local, '%Y-%m-%d %H:%M:%S'));
-- Sensors of a circuit that are marked as not in use, as a further sentence.
CREATE MACRO unused_words(circuit) AS coalesce((
    SELECT format(' Marked as not in use: {}.', string_agg(format('{} {}', CASE kind WHEN 'occupancy' THEN 'occupancy sensor' ELSE kind END,
        sensor_id), ' and ' ORDER BY sensor_id))
    FROM (SELECT sensor_id, kind, in_use, unnest(circuits) AS circuit_id FROM sensors)
    WHERE NOT coalesce(in_use, true) AND circuit_id = circuit
), '');
-- All steps on a target, with their rows; NULL where there is none.
CREATE MACRO steps_words(device, target) AS (
    SELECT 'its steps: ' || string_agg(sourced, '; ' ORDER BY events.row_no)
    FROM events JOIN step_words USING (controller_id, event_id)
    WHERE controller_id = device AND list_contains(targets, target)
);
-- What the device itself shows, where its clock is wrong: " (the device itself shows 16:12)"; else nothing.
CREATE MACRO shown_words(t_local, error_s) AS CASE
    WHEN abs(coalesce(error_s, 0)) < 60 THEN ''
    WHEN (t_local + to_seconds(error_s))::DATE = t_local::DATE
        THEN format(' (the device itself shows {})', clock_words(t_local + to_seconds(error_s)))
    ELSE format(' (the device itself shows {}, {})', clock_words(t_local + to_seconds(error_s)),
        day_words(t_local + to_seconds(error_s)))
END;
CREATE MACRO device_words(device, t_utc, t_local) AS coalesce((
    SELECT shown_words(t_local, error_s)
    FROM clock_errors WHERE controller_id = device AND t_utc >= start_utc AND t_utc < end_utc
), '');
-- What must be put right on the device before its program is judged; NULL where nothing is wrong that moves this
-- circuit. A clock's offset moves clock steps only, its residual all steps; the location moves sun steps only. Errors
-- that hold on no whole date are those of a change's own night.
CREATE MACRO device_first(device, circuit, t_utc) AS coalesce((
    SELECT format('Put the clock of the device right first: at that time it shows {} local time. Then look again, '
                  || 'for this may be gone with it', error_words(error_s))
    FROM clock_errors CROSS JOIN circuit_anchors
    WHERE controller_id = device AND circuit_id = circuit AND t_utc >= start_utc AND t_utc < end_utc
        AND whole_dates > 0 AND abs(error_s) >= 300 AND (by_clock OR by_sun AND abs(residual_s) >= 300)
), CASE
    WHEN circuit IN (SELECT circuit_id FROM circuit_anchors WHERE by_sun)
        AND device IN (SELECT subject_id FROM verdicts WHERE rule = 'sun-location-off' AND missing IS NULL)
    THEN 'Put the location that is set in the device right first: its sunrise and sunset are those of another place. '
         || 'Then look again, for this may be gone with it'
END);
-- Which photocontrols of a circuit are out of service at an instant, and by which step; NULL where none is.
CREATE MACRO photocontrols_out(circuit, t_utc) AS (
    SELECT string_agg(format('photocontrol {}, suspended by {}', sensor_id, words), ' and ' ORDER BY sensor_id)
    FROM (SELECT sensor_id, controller_id, kind, unnest(circuits) AS circuit_id FROM sensors)
    JOIN suspensions USING (sensor_id)
    JOIN step_words USING (controller_id, event_id)
    WHERE kind = 'photocontrol' AND circuit_id = circuit AND t_utc >= start_utc AND t_utc < end_utc
);
-- Their names alone, for where no step may be spoken of.
CREATE MACRO photocontrols_named(circuit, t_utc) AS (
    SELECT string_agg('photocontrol ' || sensor_id, ' and ' ORDER BY sensor_id)
    FROM (SELECT sensor_id, kind, unnest(circuits) AS circuit_id FROM sensors) JOIN suspensions USING (sensor_id)
    WHERE kind = 'photocontrol' AND circuit_id = circuit AND t_utc >= start_utc AND t_utc < end_utc
);
-- The steps around a stretch, as further sentences.
CREATE MACRO cause_words(held, began, ended, out) AS CASE
    WHEN held IS NOT NULL THEN format(' It is left by hand in {}.', held)
    WHEN began IS NULL AND ended IS NULL AND out IS NULL THEN ' No step of its own has fired on it.'
    ELSE also('in force then: ' || began) || also('ended by ' || ended) || also('out of service then: ' || out)
END;
CREATE MACRO who_words(who) AS CASE who
    WHEN 'desk' THEN 'Who may do it: whoever manages the programs, from a desk.'
    WHEN 'site staff' THEN 'Who may do it: site staff who know the device, with its covers closed; behind a cover a '
                           || 'qualified electrician only.'
    ELSE 'Who may do it: a qualified electrician only, with the power locked out.'
END;
