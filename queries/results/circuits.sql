-- circuits.csv: the period's figures of every circuit in use.
SELECT cell(site_id) AS site_id, cell(controller_id) AS controller_id, cell(circuit_id) AS circuit_id,
    round(on_minutes, 2) AS on_minutes, round(conditional_minutes, 2) AS conditional_minutes,
    round(daylight_minutes, 2) AS daylight_minutes, round(closed_minutes, 2) AS closed_minutes,
    round(curfew_minutes, 2) AS curfew_minutes, round(dark_open_minutes, 2) AS dark_open_minutes,
    round(kwh, 3) AS kwh, round(avoidable_kwh, 3) AS avoidable_kwh, round(cost, 2) AS cost
FROM circuit_figures AS figures
ORDER BY figures.site_id, figures.controller_id, figures.circuit_id
