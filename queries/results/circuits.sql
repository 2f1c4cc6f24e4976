-- circuits.csv: the period's figures of every circuit in use. Words behind a column are its header in the workbook.
SELECT site_id, controller_id, circuit_id,
    round(on_minutes, 2) AS on_minutes,                      -- Programmed on, minutes in the period
    round(conditional_minutes, 2) AS conditional_minutes,    -- On only if somebody is there, minutes in the period
    round(daylight_minutes, 2) AS daylight_minutes,          -- On in daylight, minutes in the period
    round(closed_minutes, 2) AS closed_minutes,              -- On while closed, minutes in the period
    round(curfew_minutes, 2) AS curfew_minutes,              -- On in the night window, minutes in the period
    round(dark_open_minutes, 2) AS dark_open_minutes,        -- Off while dark and open, minutes in the period
    round(kwh, 3) AS kwh,                                    -- Energy, kWh in the period
    round(avoidable_kwh, 3) AS avoidable_kwh,                -- Avoidable energy, kWh in the period
    round(cost, 2) AS cost                                   -- Cost of the energy, money in the period
FROM circuit_figures AS figures
ORDER BY figures.site_id, figures.controller_id, figures.circuit_id
