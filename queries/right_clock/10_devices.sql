-- What a session needs to evaluate the year as it would be with right clocks: in it, these stand before the store's
-- own tables of the same names. Only the chosen devices and their sites, numbered anew; every clock follows the law of
-- its site.

CREATE OR REPLACE TEMP TABLE site_numbers AS
SELECT row_number() OVER (ORDER BY site_id)::INTEGER AS site_no, site_id
FROM (SELECT DISTINCT site_id FROM right_clock_devices);

CREATE OR REPLACE TEMP TABLE device_clocks AS
SELECT controller_id, clock_no, 0::BIGINT AS residual_s
FROM right_clock_devices JOIN sites USING (site_id) JOIN clocks ON clock = timezone;
