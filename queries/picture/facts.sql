-- What is wrong with a circuit, in short true statements without a full stop, the weightiest first.
-- rule: its name, 'clock' for all that is about the device's clock. whole: it describes the picture from edge to edge; grave: critical or high.

WITH clock_rules (rule) AS (
    VALUES ('clock-dst-offset'), ('clock-wrong-zone'), ('clock-drift')
), found AS (        -- a finding stays one where it is waived; open ones go first
    SELECT circuit_no, rule, severity, status, summary
    FROM findings JOIN picture_circuits ON subject_kind = 'circuit' AND subject_id = circuit_id
    UNION ALL
    SELECT circuit_no, rule, severity, status, summary
    FROM findings JOIN picture_circuits
        ON subject_kind = 'controller' AND subject_id = picture_circuits.controller_id
    WHERE rule = 'left-in-hand' OR rule IN (FROM clock_rules)
), kinds AS (
    SELECT circuit_no, kind, seasons.words AS season, minutes_words(max(said_s) / 60) AS length,
        sum(end_s - start_s) AS all_s, sum(all_s) OVER (PARTITION BY circuit_no, kind LIKE 'lit %') AS together_s
    FROM picture_stretches JOIN picture_seasons AS seasons USING (circuit_no, kind)
    GROUP BY circuit_no, kind, season
), stretches AS (    -- of the ways to be lit by day those that make up a tenth of it
    SELECT circuit_no, CASE WHEN kind LIKE 'lit %' THEN 'lit-in-daylight' ELSE kind END AS rule, all_s AS weight,
        CASE kind
            WHEN 'duty-not-met' THEN format('not lit while a duty asks for light, up to {}, {}', length, season)
            WHEN 'dark-while-open' THEN format('dark while open up to {}, {}', length, season)
            WHEN 'dark-around-closing' THEN format('dark around closing or opening up to {}, {}', length, season)
            WHEN 'lit in the morning' THEN format('lit up to {} into daylight, {}', length, season)
            WHEN 'lit in the evening' THEN format('lit up to {} before sunset, {}', length, season)
            WHEN 'lit all day' THEN format('lit all day, {}', season)
            WHEN 'lit by day' THEN format('lit by day up to {}, {}', length, season)
        END AS words
    FROM kinds WHERE kind NOT LIKE 'clock %' AND (kind NOT LIKE 'lit %' OR 10 * all_s >= together_s)
), lit_nights AS (   -- as the rule has them
    SELECT circuit_no, circuit_id, span_start_utc FROM exposures JOIN picture_circuits USING (circuit_id)
    WHERE kind = 'lit-at-night' AND level > threshold('no-night-cutoff', 'level_percent')
    GROUP BY circuit_no, circuit_id, span_start_utc, span_end_utc
    HAVING sum(seconds(start_utc, end_utc))
        >= threshold('no-night-cutoff', 'window_share') * seconds(span_start_utc, span_end_utc)
), nights AS (
    SELECT circuit_no, 'no-night-cutoff', 0, 'on all through the night window, '
        || CASE WHEN count(*) = any_value(night_windows) THEN 'every night'
                ELSE format('on {:d} of {:d} nights', count(*), any_value(night_windows)) END
    FROM lit_nights JOIN circuit_figures USING (circuit_id)
    GROUP BY circuit_no
), closed AS (
    SELECT circuit_no, 'interior-lit-when-closed', 0, format('on for {} of the closed time, up to {} without a break',
        percent_words(any_value(closed_minutes / site_closed_minutes)), minutes_words(max(seconds(start_utc, end_utc)) / 60))
    FROM exposures JOIN picture_circuits USING (circuit_id) JOIN circuit_figures USING (circuit_id)
    WHERE kind = 'lit-while-closed'
    GROUP BY circuit_no
), said AS (
    FROM stretches UNION ALL FROM nights UNION ALL FROM closed
    UNION ALL
    SELECT circuit_no, 'never-on', 0, 'never on' FROM picture_circuits
    UNION ALL
    SELECT circuit_no, 'always-on', 0, 'on day and night, without a break' FROM picture_circuits
), errors AS (
    SELECT circuit_no, seasons.words AS season, dates, substr(kind, 7)::BIGINT AS error_s,
        CASE WHEN abs(error_s) >= 172800 THEN format('{:d} days', round(abs(error_s) / 86400)::BIGINT)
             ELSE minutes_words(abs(error_s) / 60) END AS length,
        by_clock AND by_sun AND abs(residual_s) <= 60 AS clock_steps_only
    FROM picture_seasons AS seasons JOIN picture_circuits USING (circuit_no) LEFT JOIN circuit_anchors USING (circuit_id)
    WHERE kind LIKE 'clock %'
), clocks AS (       -- told of every circuit that it changes, whatever the rules on clocks make of it
    SELECT circuit_no, string_agg(
        CASE WHEN abs(error_s) >= 21600
             THEN format('its clock is {} {}, {}', length, CASE WHEN error_s < 0 THEN 'behind' ELSE 'ahead' END,
                CASE season WHEN 'every day' THEN 'all the time' ELSE season END)
             ELSE format('{} {} {}, {}', CASE WHEN clock_steps_only THEN 'its clock steps come' ELSE 'switches' END,
                length, CASE WHEN error_s < 0 THEN 'late' ELSE 'early' END, season) END,
        '; ' ORDER BY dates DESC, error_s) AS words
    FROM errors GROUP BY circuit_no
), facts AS (
    SELECT circuit_no, rule, severity, status, weight, words,   -- what has no words here speaks as the rule does
        CASE WHEN summary[2] = lower(summary[2]) THEN lower(summary[1]) ELSE summary[1] END || rtrim(summary[2:], '.') AS otherwise
    FROM found LEFT JOIN said USING (circuit_no, rule)
    WHERE rule NOT IN (FROM clock_rules)
    UNION ALL
    SELECT circuit_no, 'clock', coalesce(min_by(severity, severity_place(severity)), 'low'),
        coalesce(min(status), 'open'), 0, clocks.words, NULL
    FROM clocks LEFT JOIN (FROM found WHERE rule IN (FROM clock_rules)) USING (circuit_no)
    GROUP BY circuit_no, clocks.words
)
SELECT circuit_no, rule, rule = 'clock' AS clock, rule IN ('never-on', 'always-on', 'left-in-hand') AS whole,
    severity IN ('critical', 'high') AS grave, coalesce(words, otherwise) AS words
FROM facts
ORDER BY circuit_no, status <> 'open', severity_place(severity), rule <> 'clock', words IS NULL,
    rule <> 'lit-in-daylight', rule, weight DESC, words
