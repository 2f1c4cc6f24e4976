-- Cards speak of the sites of the plan alone: the rest of the fleet is not read for them.
DELETE FROM report_sites WHERE site_id NOT IN (SELECT site_id FROM plan_stops)
