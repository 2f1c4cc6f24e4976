-- This run against the one before: what is new, what persists, what is gone and why.

UPDATE findings SET first_seen = coalesce(before.first_seen, this_run.run_date)
FROM this_run, (
    SELECT findings.finding_id, past.first_seen
    FROM findings LEFT JOIN (SELECT past_findings.* FROM past_findings JOIN run_before USING (run_date)) AS past USING (finding_id)
) AS before
WHERE before.finding_id = findings.finding_id;

CREATE TEMP VIEW rule_settings AS      -- by which a rule judges in this run
WITH margins AS (
    SELECT unnest(['lit-in-daylight', 'clock-times-at-dusk', 'interior-lit-when-closed', 'holiday-program-missing',
                   'dark-around-closing']) AS rule,
        unnest([daylight_margin_s, daylight_margin_s, hours_margin_s, hours_margin_s, staff_margin_s]) AS margin_s
    FROM period
)
SELECT rule, coalesce(any_value(margin_s)::VARCHAR, '')
    || coalesce(' ' || string_agg(format('{}={}', name, value), ' ' ORDER BY name), '') AS settings
FROM applied_rules LEFT JOIN thresholds USING (rule) LEFT JOIN margins USING (rule)
GROUP BY rule;

CREATE TEMP VIEW earlier AS SELECT past.* FROM past_findings AS past JOIN run_before USING (run_date);

-- What was found before and is not any more, with the first reason that is true. Status unseen: found once, and not
-- looked at since.
CREATE TEMP TABLE away AS
WITH unseen AS (
    SELECT rule, subject_kind, subject_id, min(missing) AS missing FROM not_evaluated GROUP BY rule, subject_kind, subject_id
), beside AS (  -- what is new at a subject: there a fault may only have changed its name
    SELECT subject_kind, subject_id, string_agg(rule, ', ' ORDER BY rule) AS rules
    FROM findings ANTI JOIN earlier USING (finding_id)
    WHERE status = 'open' GROUP BY subject_kind, subject_id
), compared AS (
    SELECT finding_id, unnest(list_distinct(map_keys(earlier.facts) || map_keys(grounds.facts))) AS fact,
        earlier.facts[fact] AS before, grounds.facts[fact] AS now
    FROM earlier JOIN grounds USING (finding_id)
), differing AS (    -- a clock that came nearer to the right time, or moved far, was set; any other has drifted
    SELECT finding_id, CASE WHEN fact = 'residual' THEN 'clock' ELSE fact END AS fact
    FROM compared
    WHERE CASE WHEN fact = 'residual'
        THEN abs(now::BIGINT) < abs(before::BIGINT) - 60 OR abs(now::BIGINT - before::BIGINT) > 1800
        ELSE before IS DISTINCT FROM now END
), drifted AS (
    SELECT finding_id FROM compared WHERE fact = 'residual' AND abs(now::BIGINT - before::BIGINT) >= 15
), moved AS (    -- what has changed of all that a finding rests on
    SELECT finding_id, bool_and(at_device) AS by_hand, bool_or(at_device) AS in_part,
        string_agg(fact, ', ' ORDER BY at_device DESC, fact) AS what
    FROM (SELECT DISTINCT finding_id, fact FROM differing) JOIN facts USING (fact)
    GROUP BY finding_id
), judged AS (   -- whether a rule judges by other thresholds or margins now
    SELECT rule, past_rules.settings <> rule_settings.settings AS otherwise
    FROM past_rules JOIN run_before USING (run_date) JOIN rule_settings USING (rule)
)
SELECT earlier.finding_id, earlier.status AS was, 'gone' AS change,
    CASE
        WHEN earlier.site_id NOT IN (SELECT site_id FROM sites) THEN 'site missing' || CASE
            WHEN earlier.site_id IN (SELECT value FROM rejected WHERE "column" = 'site_id')
              OR earlier.site_id IN (SELECT site_id FROM rejected) THEN ': its row was rejected' ELSE '' END
        WHEN findings.status IS NOT NULL THEN findings.status
        WHEN subjects.subject_id IS NULL AND earlier.site_id IN (SELECT site_id FROM rejected)
            THEN 'subject missing: rows of this site were rejected'
        WHEN subjects.subject_id IS NULL THEN 'subject no longer in the export'
        WHEN NOT subjects.in_use THEN 'left out of use'
        WHEN applied_rules.rule IS NULL THEN 'rule switched off'
        WHEN unseen.rule IS NOT NULL THEN 'no longer evaluated: ' || unseen.missing
        WHEN earlier.last_date < period.first_date THEN 'over'
        WHEN earlier.rule <> 'left-in-hand' AND contains(coalesce(what, ''), 'hand switch') AND earlier.subject_id IN (
                SELECT circuit_id FROM circuits JOIN controllers USING (controller_id)
                WHERE coalesce(circuits.hold, controllers.hold) IS NOT NULL)
            THEN 'left in hand now: its program counts for nothing'
        WHEN beside.rules IS NOT NULL THEN 'no longer found; new there: ' || beside.rules
        WHEN earlier.facts IS NULL THEN 'no longer found; what was set before is not known'
        WHEN by_hand AND NOT coalesce(otherwise, false) THEN 'fixed'
        WHEN what IS NULL AND NOT coalesce(otherwise, false) AND earlier.finding_id IN (SELECT finding_id FROM drifted)
            THEN 'no longer found, though nobody changed anything: its clock has drifted'
        WHEN what IS NULL AND NOT coalesce(otherwise, false) THEN 'no longer found, though nothing of it was changed'
        ELSE 'no longer found; changed: ' || concat_ws(', ', what, CASE WHEN otherwise THEN 'thresholds' END)
            || CASE WHEN in_part THEN '' ELSE ', not the device' END
    END AS reason,
    earlier.first_seen AS since, earlier.runs_seen AS runs, earlier.* EXCLUDE (finding_id, first_seen, runs_seen, status)
FROM earlier
LEFT JOIN moved ON moved.finding_id = earlier.finding_id
LEFT JOIN findings ON findings.finding_id = earlier.finding_id
LEFT JOIN subjects ON subjects.subject_kind = earlier.subject_kind AND subjects.subject_id = earlier.subject_id
LEFT JOIN applied_rules ON applied_rules.rule = earlier.rule
LEFT JOIN unseen ON unseen.rule = earlier.rule AND unseen.subject_kind = earlier.subject_kind AND unseen.subject_id = earlier.subject_id
LEFT JOIN judged ON judged.rule = earlier.rule
LEFT JOIN beside ON beside.subject_kind = earlier.subject_kind AND beside.subject_id = earlier.subject_id
CROSS JOIN period
WHERE CASE WHEN earlier.status = 'open' THEN findings.status IS DISTINCT FROM 'open' ELSE findings.status IS NULL END
QUALIFY row_number() OVER (PARTITION BY earlier.finding_id ORDER BY subjects.source_row) = 1;

CREATE TEMP VIEW unlooked AS   -- nobody can tell whether these are still there
SELECT finding_id FROM away
WHERE was IN ('open', 'unseen')
  AND (reason = 'rule switched off' OR starts_with(reason, 'site missing') OR starts_with(reason, 'subject missing')
       OR starts_with(reason, 'no longer evaluated'));

INSERT INTO changes BY NAME
WITH here AS (
    SELECT findings.finding_id, earlier.status AS was, CASE WHEN earlier.status = 'open' THEN 'persisting' ELSE 'new' END AS change,
        CASE earlier.status
            WHEN 'waived' THEN 'its waiver no longer stands' WHEN 'exempt' THEN 'no exemption is claimed any more'
            WHEN 'unseen' THEN 'it was found before, and not looked at in the run before' END AS reason,
        findings.first_seen AS since, coalesce(earlier.runs_seen, 0) + 1 AS runs,
        findings.* EXCLUDE (finding_id, first_seen)
    FROM findings LEFT JOIN earlier USING (finding_id)
    WHERE findings.status = 'open'
), told AS (
    SELECT finding_id, change, was, reason, since, runs, rule, severity, site_id, controller_id, subject_kind, subject_id, summary, cost
    FROM here CROSS JOIN run_before
    UNION ALL
    SELECT finding_id, change, was, reason, since, runs, rule, severity, site_id, controller_id, subject_kind, subject_id, summary, cost
    FROM away
    WHERE NOT (was = 'unseen' AND finding_id IN (FROM unlooked))   -- that was told when it went
)
FROM told
ORDER BY list_position(['new', 'gone', 'persisting'], change), severity_place(severity), site_id, rule, subject_kind, subject_id;

INSERT INTO missing_sites BY NAME
SELECT past.site_id, past.name, past.region,
    CASE WHEN past.site_id IN (SELECT site_id FROM rejected) OR past.site_id IN (SELECT value FROM rejected)
         THEN 'its row was rejected'
         ELSE 'no longer in the export' END AS reason
FROM past_sites AS past JOIN run_before USING (run_date)
WHERE past.site_id NOT IN (SELECT site_id FROM sites)
ORDER BY past.site_id;
