-- Verdicts to findings: who they are about, what they cost, and whether anybody has answered for them.

INSERT INTO not_evaluated BY NAME
SELECT rule, site_id, subject_kind, subject_id, missing
FROM verdicts WHERE missing IS NOT NULL
ORDER BY rule, site_id, subject_kind, subject_id;

INSERT INTO findings BY NAME
WITH named AS (   -- ids with a slash may make two steps look like one: the first stands for both
    SELECT subject_kind, subject_id, controller_id, exempt_reason, source_file, source_row FROM subjects
    QUALIFY row_number() OVER (PARTITION BY subject_kind, subject_id ORDER BY source_file, source_row) = 1
), judged AS (
    SELECT verdicts.*, named.* EXCLUDE (subject_kind, subject_id), controllers.remote,
        subject_kind = 'circuit' AND (controllers.hold IS NOT NULL
            OR subject_id IN (SELECT circuit_id FROM circuits WHERE circuits.hold IS NOT NULL)) AS held,
        coalesce(own.rule, whole.rule) IS NOT NULL AS waived,
        CASE WHEN own.rule IS NULL THEN whole.waiver_reason ELSE own.waiver_reason END AS waiver_reason,
        exempt_reason IS NOT NULL AND verdicts.rule IN (
            'lit-in-daylight', 'no-night-cutoff', 'interior-lit-when-closed', 'always-on'
        ) AS exempt
    FROM verdicts
    LEFT JOIN named USING (subject_kind, subject_id)
    LEFT JOIN controllers USING (controller_id)
    LEFT JOIN standing_waivers AS own
        ON own.site_id = verdicts.site_id AND own.rule = verdicts.rule AND own.subject_id = verdicts.subject_id
    LEFT JOIN standing_waivers AS whole
        ON whole.site_id = verdicts.site_id AND whole.rule = verdicts.rule AND whole.subject_id IS NULL
    WHERE missing IS NULL
    QUALIFY row_number() OVER (PARTITION BY verdicts.rule, verdicts.subject_kind, verdicts.subject_id
                               ORDER BY verdicts.site_id, summary, seen) = 1
)
SELECT
    left(sha256(concat_ws(chr(31), rule, subject_kind, subject_id)), 12) AS finding_id,
    rule, severity,
    CASE WHEN waived THEN 'waived' WHEN exempt THEN 'exempt' ELSE 'open' END AS status,
    CASE WHEN waived THEN waiver_reason WHEN exempt THEN exempt_reason END AS status_reason,
    judged.site_id, controller_id, subject_kind, subject_id, summary, seen, minutes, kwh,
    CASE WHEN money THEN coalesce(sites.rate_per_kwh, portfolio.rate_per_kwh) * kwh * 365 / days END AS cost,
    emission_kg_per_kwh * kwh AS co2_kg,
    judged.first_date, judged.last_date,
    CASE WHEN rule_fix = 'device' AND coalesce(remote, false) THEN 'remote' ELSE 'on-site' END AS fix,
    -- a hand switch is at the site, whatever can be done from a desk
    coalesce(rule_who, CASE WHEN fix = 'remote' AND NOT held THEN 'desk' ELSE 'site staff' END) AS who,
    remedy, judged.source_file, judged.source_row
FROM judged
JOIN sites USING (site_id)
CROSS JOIN portfolio
CROSS JOIN period
ORDER BY severity_place(judged.severity), judged.rule, judged.site_id, judged.subject_kind, judged.subject_id;
