-- A finding was first seen when an earlier run of this store saw it, else now ($today, the newest reading's date).
UPDATE findings SET first_seen = coalesce(
    (SELECT before.first_seen FROM first_seen_before AS before WHERE before.finding_id = findings.finding_id),
    $today
)
