-- When something holds at each site.
-- kind: 0 light, 1 daylight, 2 open, 3 closed, 4 night; site_kind_no is 5 * site_no + kind.
SELECT 5 * site_no + list_position(['light', 'daylight', 'open', 'closed', 'night'], kind) - 1 AS site_kind_no,
    epoch_us(start_utc) // 1000000 AS start_s, epoch_us(end_utc) // 1000000 AS end_s
FROM site_spans JOIN picture_sites USING (site_id)
