-- The report's own queries, asked for the sites of this pack.
CREATE OR REPLACE TEMP TABLE report_sites AS SELECT site_id FROM evidence_asked
