-- The sites of a pack, in the order that was asked for; the tables of the evidence stand beside the store.
SELECT sites.*, evidence_asked.edition,
    CASE WHEN evidence_asked.edition IS NULL THEN NULL
         WHEN $edition IS NOT NULL THEN 'the command'
         WHEN sites.energy_code IS NOT NULL THEN 'the site''s own energy_code'
         ELSE 'the portfolio''s energy_code' END AS given_by,
    (SELECT count(*) FROM e_circuits WHERE e_circuits.site_id = sites.site_id) AS circuits
FROM evidence_asked JOIN sites USING (site_id)
ORDER BY evidence_asked.rowid
