-- The local dates of each zone in pieces of one offset.
SELECT clock_no, start_s, end_s, to_local_s, day FROM picture_dates
