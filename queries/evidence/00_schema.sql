-- Evidence for a code reviewer: the codes as tables, what is asked, and where outcomes go. All are temporary: they live
-- beside a kept store that is open read-only, and go with the session. Names end in their unit, as in schema.sql.

-- Codes, from auditor/codes/editions and the user's own ---------------------------------------------------------

CREATE OR REPLACE TEMP TABLE code_editions (
    edition VARCHAR, title VARCHAR,
    amends VARCHAR,                      -- the edition that it amends; blank: none
    own BOOLEAN                          -- a file of the user's
);

CREATE OR REPLACE TEMP TABLE code_items (
    edition VARCHAR, item VARCHAR,
    clause VARCHAR, requirement VARCHAR, -- in own words
    asked BOOLEAN,                       -- false: this edition asks nothing of the kind
    areas VARCHAR[],                     -- of circuits that it is about; empty: it is about devices
    mark VARCHAR, confidence VARCHAR, source VARCHAR
);

CREATE OR REPLACE TEMP TABLE code_limits (
    edition VARCHAR, item VARCHAR, name VARCHAR,
    bound VARCHAR,                       -- at least, at most, above
    value DOUBLE, unit VARCHAR,
    mark VARCHAR, confidence VARCHAR, source VARCHAR
);

CREATE OR REPLACE TEMP TABLE code_windows (   -- from the later of its starts to the earlier of its ends
    edition VARCHAR, item VARCHAR,
    window_no INTEGER, name VARCHAR,     -- any one window of an item will do
    from_time_s INTEGER, until_time_s INTEGER,   -- time of day, seconds after 00:00; NULL: no such edge
    from_closing_minutes DOUBLE,         -- minutes after closing; NULL: no such edge
    until_opening_minutes DOUBLE,        -- minutes before opening; NULL: no such edge
    mark VARCHAR, confidence VARCHAR, source VARCHAR
);

CREATE OR REPLACE TEMP TABLE code_exceptions (
    edition VARCHAR, item VARCHAR, tag VARCHAR, words VARCHAR,
    site_types VARCHAR[],                -- in small letters; a site of one of these gets the outcome, where there is one
    outcome VARCHAR,                     -- insufficient data, not applicable, or blank
    mark VARCHAR, confidence VARCHAR, source VARCHAR
);

-- What is asked, and what comes of it -----------------------------------------------------------------------------

CREATE OR REPLACE TEMP TABLE evidence_asked (
    site_id VARCHAR,
    edition VARCHAR                      -- NULL: nobody gave one
);

CREATE OR REPLACE TEMP TABLE evidence_items (  -- one row a file of queries/evidence/items
    item VARCHAR, place INTEGER, title VARCHAR,
    of_code BOOLEAN,                     -- false: asked whatever the edition
    rests_on VARCHAR,                    -- program (soundness of the export), device (how old it is), nothing
    test VARCHAR,                        -- what has to be tested on site
    nobody VARCHAR,                      -- what is said where no subject is in the export
    absent VARCHAR,                      -- the outcome then
    reads VARCHAR[]                      -- the input tables whose rows decide
);

CREATE OR REPLACE TEMP TABLE item_rows (       -- what the items' queries return
    item VARCHAR, site_id VARCHAR, subject_kind VARCHAR, subject_id VARCHAR,
    outcome VARCHAR,                     -- consistent, contrary, insufficient data, not applicable
    said VARCHAR,                        -- the deciding facts
    first_date DATE, last_date DATE,     -- local to the site
    example_utc TIMESTAMP,               -- the first instant that decides
    minutes DOUBLE,                      -- minutes of light in question, in the period; NULL: not a matter of time
    kwh DOUBLE,                          -- kWh of it; NULL: watts unknown, or a dimmed level without a curve
    limits VARCHAR[],                    -- names of the limits and windows that were used
    circuits VARCHAR[],                  -- that it rests on; NULL: on the device that is the subject
    source_file VARCHAR, source_row BIGINT
);

CREATE OR REPLACE TEMP TABLE evidence_rows (
    site_id VARCHAR, edition VARCHAR, place INTEGER, item VARCHAR, title VARCHAR,
    subject_kind VARCHAR,                -- circuit, controller, group (circuit ids joined by ;) or site
    subject_id VARCHAR,
    outcome VARCHAR, said VARCHAR,
    first_date DATE, last_date DATE,
    example_local TIMESTAMP,             -- local to the site
    minutes DOUBLE, kwh DOUBLE,
    clause VARCHAR,
    basis VARCHAR,                       -- limits and windows used, each with mark, confidence and source
    from_memory BOOLEAN,                 -- something of the basis is from memory: say so beside it
    test VARCHAR,
    source_file VARCHAR, source_row BIGINT
);

CREATE OR REPLACE TEMP TABLE evidence_outcomes (  -- one row a site and item
    site_id VARCHAR, edition VARCHAR, place INTEGER, item VARCHAR, title VARCHAR,
    of_code BOOLEAN,                     -- false: asked whatever the edition
    outcome VARCHAR,                     -- the loudest: contrary, insufficient data, consistent, not applicable
    contrary BIGINT, insufficient BIGINT, consistent BIGINT, not_applicable BIGINT   -- subjects
);

CREATE OR REPLACE TEMP TABLE evidence_sources (   -- the input rows that each row of evidence_rows rests on
    site_id VARCHAR, place INTEGER, item VARCHAR, subject_kind VARCHAR, subject_id VARCHAR,
    input VARCHAR,                       -- the table
    source_file VARCHAR, source_rows BIGINT[]
);

-- Small formulas ---------------------------------------------------------------------------------------------------

-- A limit as the edition has it; NULL where it has none. To be given bare names or texts.
CREATE OR REPLACE TEMP MACRO limit_of(of_edition, of_item, called) AS (
    SELECT value FROM code_limits WHERE edition = of_edition AND item = of_item AND name = called
);
-- Clocks are allowed five minutes: so much light at the edge of a window or of unoccupied time decides nothing.
CREATE OR REPLACE TEMP MACRO slack_s() AS 300;
CREATE OR REPLACE TEMP MACRO loudness(outcome) AS
    list_position(['contrary', 'insufficient data', 'consistent', 'not applicable'], outcome);
CREATE OR REPLACE TEMP MACRO grouped(words) AS replace(words, ',', chr(8239));   -- thousands; a narrow no-break space
CREATE OR REPLACE TEMP MACRO watts_words(w) AS grouped(format('{:,.15g} W', w));
CREATE OR REPLACE TEMP MACRO number_words(n, noun) AS
    format('{} {}{}', grouped(format('{:,d}', n)), noun, CASE WHEN n = 1 THEN '' ELSE 's' END);
-- A group and its connected load: what of it nobody exported is said with it.
CREATE OR REPLACE TEMP MACRO together_words(circuit_count, watts, unknown_ids) AS
    number_words(circuit_count, 'circuit') || CASE WHEN circuit_count = 1 THEN '' ELSE ' together' END
    || coalesce(', ' || watts_words(watts) || ' connected', ', connected load not known')
    || coalesce(format(' ({}: connected_watts is not exported)', unknown_ids), '');
CREATE OR REPLACE TEMP MACRO when_local(t_local) AS strftime(t_local + INTERVAL 30 SECOND, '%A %-d %B %Y at %H:%M');
-- Parts of words, in any case, in the type or name of a site or in the name of a circuit, also in German, French and
-- Spanish: at worst a question too many. People may be cared for here; this light may show a way out, or guard somebody.
CREATE OR REPLACE TEMP MACRO care_words() AS
    'care|clinic|hospice|hospital|hospic|medical|nursing|assisted|elder|surgery|dental|patient|treatment|infirm|\bwards?\b|'
    || 'klinik|krankenh|pflege|h[oô]pital|\bsoins|cl[ií]nica|residencia';
CREATE OR REPLACE TEMP MACRO way_out_words() AS
    'emerg|egress|\bexits?\b|escape|evacu|[ée]vacu|stair|\bway ?out|\bfire\b|safety|security|\bem\b|'
    || 'notlicht|notbel|notausgang|sicherheit|fluchtw|rettungsw|treppe|secours|urgence|escalier|issue de|s[ée]curit|'
    || 'salida|escalera|seguridad';
-- The end of a stretch after its beginning: the time, and the date where it is another.
CREATE OR REPLACE TEMP MACRO end_words(from_local, until_local) AS
    CASE WHEN day_words(from_local) = day_words(until_local) THEN clock_words(until_local) ELSE when_local(until_local)
        END;
CREATE OR REPLACE TEMP MACRO since_words(from_local, at_local) AS
    CASE WHEN from_local = at_local THEN 'its beginning' ELSE end_words(from_local, at_local) END;
CREATE OR REPLACE TEMP MACRO dates_words(first_of, last_of) AS   -- days and instants alike
    CASE WHEN first_of::DATE = last_of::DATE THEN strftime(first_of, 'on %-d %B %Y')
         ELSE strftime(first_of, 'from %-d %B %Y') || strftime(last_of, ' to %-d %B %Y') END;
CREATE OR REPLACE TEMP MACRO has_words(n) AS format('{:d} {}', n, CASE WHEN n = 1 THEN 'has' ELSE 'have' END);
CREATE OR REPLACE TEMP MACRO square_feet(m2) AS m2 / 0.09290304;   -- exact: (0.3048 m)²
CREATE OR REPLACE TEMP MACRO area_words(m2) AS
    format('{} ft² ({} m²)', grouped(format('{:,.0f}', square_feet(m2::DOUBLE))), grouped(format('{:,.15g}',
        m2::DOUBLE)));
CREATE OR REPLACE TEMP MACRO feet(m) AS m / 0.3048;
-- Why light in question is not said to be contrary where sensors may exist that nobody exported.
CREATE OR REPLACE TEMP MACRO no_sensors_words() AS
    'No sensor is in this export at all, so that nobody can say whether one acts here';
-- What the absence of a sensor is taken from, at a device without any.
CREATE OR REPLACE TEMP MACRO absence_words(devices) AS
    format(' (the table of sensors has no row of {}; that none acts is taken from the table being there)', devices);
