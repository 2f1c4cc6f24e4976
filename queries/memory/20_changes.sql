-- This run against the one before: what is new, what persists, what is gone and why.

CREATE TEMP TABLE run_before AS
SELECT max(runs.run_date) AS run_date FROM runs CROSS JOIN this_run WHERE runs.run_date < this_run.run_date
HAVING max(runs.run_date) IS NOT NULL;

UPDATE findings SET first_seen = coalesce(before.first_seen, this_run.run_date)
FROM this_run, (
    SELECT findings.finding_id, past.first_seen
    FROM findings LEFT JOIN (SELECT past_findings.* FROM past_findings JOIN run_before USING (run_date)) AS past USING (finding_id)
) AS before
WHERE before.finding_id = findings.finding_id;

CREATE TEMP VIEW rule_settings AS      -- by which a rule judges in this run
WITH margins AS (
    SELECT format('{} {} {} {}', daylight_margin_s, hours_margin_s, staff_margin_s, days) AS words FROM period
)
SELECT rule, words || coalesce(' ' || string_agg(format('{}={}', name, value), ' ' ORDER BY name), '') AS settings
FROM applied_rules LEFT JOIN thresholds USING (rule) CROSS JOIN margins
GROUP BY rule, words;

INSERT INTO changes BY NAME
WITH earlier AS (
    SELECT past.* FROM past_findings AS past JOIN run_before USING (run_date)
), unseen AS (
    SELECT rule, subject_kind, subject_id, min(missing) AS missing FROM not_evaluated GROUP BY rule, subject_kind, subject_id
), here AS (
    SELECT findings.finding_id, CASE WHEN earlier.status = 'open' THEN 'persisting' ELSE 'new' END AS change,
        CASE earlier.status WHEN 'waived' THEN 'its waiver no longer stands' WHEN 'exempt' THEN 'no exemption is '
            || 'claimed any more' END
            AS reason,
        findings.first_seen AS since, coalesce(earlier.runs_seen, 0) + 1 AS runs,
        findings.* EXCLUDE (finding_id, first_seen)
    FROM findings LEFT JOIN earlier USING (finding_id)
    WHERE findings.status = 'open'
), away AS (     -- the first that is true
    SELECT earlier.finding_id, 'gone' AS change,
        CASE
            WHEN earlier.site_id IN (SELECT site_id FROM rejected WHERE source_file LIKE 'sites%') THEN 'site missing: its row was rejected'
            WHEN earlier.site_id NOT IN (SELECT site_id FROM sites) THEN 'site missing'
            WHEN findings.status IS NOT NULL THEN findings.status
            WHEN subjects.subject_id IS NULL THEN 'subject no longer in the export'
            WHEN NOT subjects.in_use THEN 'left out of use'
            WHEN applied_rules.rule IS NULL THEN 'rule switched off'
            WHEN unseen.rule IS NOT NULL THEN 'no longer evaluated: ' || unseen.missing
            WHEN past_rules.settings <> rule_settings.settings THEN 'no longer found, by other thresholds'
            WHEN earlier.last_date < period.first_date THEN 'over'
            ELSE 'fixed'
        END AS reason,
        earlier.first_seen AS since, earlier.runs_seen AS runs, earlier.* EXCLUDE (finding_id, first_seen, runs_seen, status)
    FROM earlier
    LEFT JOIN findings ON findings.finding_id = earlier.finding_id
    LEFT JOIN subjects ON subjects.subject_kind = earlier.subject_kind AND subjects.subject_id = earlier.subject_id
    LEFT JOIN applied_rules ON applied_rules.rule = earlier.rule
    LEFT JOIN unseen ON unseen.rule = earlier.rule AND unseen.subject_kind = earlier.subject_kind AND unseen.subject_id = earlier.subject_id
    LEFT JOIN past_rules ON past_rules.rule = earlier.rule AND past_rules.run_date = earlier.run_date
    LEFT JOIN rule_settings ON rule_settings.rule = earlier.rule
    CROSS JOIN period
    WHERE earlier.status = 'open' AND findings.status IS DISTINCT FROM 'open'
    QUALIFY row_number() OVER (PARTITION BY earlier.finding_id ORDER BY subjects.source_row) = 1
), told AS (
    SELECT finding_id, change, reason, since, runs, rule, severity, site_id, controller_id, subject_kind, subject_id, summary, cost
    FROM here CROSS JOIN run_before
    UNION ALL
    SELECT finding_id, change, reason, since, runs, rule, severity, site_id, controller_id, subject_kind, subject_id, summary, cost
    FROM away
)
FROM told
ORDER BY list_position(['new', 'gone', 'persisting'], change), severity_place(severity), site_id, rule, subject_kind, subject_id;

INSERT INTO missing_sites BY NAME
SELECT past.site_id, past.name, past.region,
    CASE WHEN past.site_id IN (SELECT site_id FROM rejected WHERE source_file LIKE 'sites%') THEN 'its row was rejected'
         ELSE 'no longer in the export' END AS reason
FROM past_sites AS past JOIN run_before USING (run_date)
WHERE past.site_id NOT IN (SELECT site_id FROM sites)
ORDER BY past.site_id;
