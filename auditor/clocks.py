"""Which clocks the portfolio runs, as tables for the store: zones, device rules, residuals and sun days."""

from datetime import UTC, datetime, time, timedelta
from typing import Any

import polars as pl

from auditor.model import Period
from auditor.zones import DAY, Clock, DeviceClock, device_clock, zone_clock

_AHEAD = 63 * DAY  # seconds; what clocks do after the newest reading is told for 60 days, in whatever zone
_MARGIN = 375 * DAY  # seconds; firings count from 366 days before the period, and zones reach 14 h either way


def clock_tables(sites: pl.DataFrame, controllers: pl.DataFrame, period: Period) -> dict[str, pl.DataFrame]:
    """Frames for clocks, clock_offsets and device_clocks."""
    zone_of = dict(zip(sites["site_id"], sites["timezone"], strict=True))
    devices = {row["controller_id"]: _device(row, zone_of) for row in controllers.iter_rows(named=True)}
    clocks = _spans(set(zone_of.values()), devices, period)
    _widen_to_readings(clocks, controllers, zone_of)
    numbers = {name: number for number, name in enumerate(sorted(clocks), 1)}
    offsets = [
        (numbers[name], *stretch)
        for name, (clock, start, end) in sorted(clocks.items())
        for stretch in clock.stretches(start, end)
    ]
    running = [(key, numbers[device.clock.name], device.residual_s) for key, device in devices.items()]
    return {
        "clocks": _frame(["clock_no", "clock"], [(number, name) for name, number in numbers.items()]),
        "clock_offsets": _frame(["clock_no", "start_s", "end_s", "offset_s"], offsets),
        "device_clocks": _frame(["controller_id", "clock_no", "residual_s"], running),
    }


def needed_days(devices: pl.DataFrame, period: Period) -> set[int]:
    """Days since 1970 on which some device may look at the sun; a lost date moves them by years."""
    start, end = _reach(period)
    shifts = {0, *(residual // DAY for residual in devices["residual_s"])}
    return {day for shift in shifts for day in range(start // DAY + shift - 12, end // DAY + shift + 12)}


def _frame(columns: list[str], rows: list[tuple[Any, ...]]) -> pl.DataFrame:
    return pl.DataFrame(rows, schema=columns, orient="row", infer_schema_length=None)


def _device(row: dict[str, Any], zone_of: dict[str, str]) -> DeviceClock:
    reading = row["clock_reading_local"]
    return device_clock(
        zone_of[row["site_id"]],
        _epoch(row["read_at_utc"]),
        None if reading is None else _epoch(reading),
        row["dst_rule"],
        row["utc_offset_s"],
    )


def _epoch(moment: datetime) -> int:
    return (moment - datetime(1970, 1, 1)) // timedelta(seconds=1)


def _reach(period: Period) -> tuple[int, int]:
    midnight = int(datetime.combine(period.first, time(), UTC).timestamp())
    return midnight - _MARGIN, midnight + (max(period.days, 366) + 9) * DAY  # steps are followed for 366 days


def _spans(
    zones: set[str], devices: dict[str, DeviceClock], period: Period
) -> dict[str, tuple[Clock, int, int]]:
    """Every clock with the time over which its offsets are needed; a lost date widens it."""
    start, end = _reach(period)
    spans = {zone: (zone_clock(zone), start, end) for zone in zones}
    for device in devices.values():
        spans.setdefault(device.clock.name, (device.clock, start, end))
        for edge in (start, end):
            _widen(spans, device.clock, edge + device.residual_s)
    return spans


def _widen_to_readings(
    spans: dict[str, tuple[Clock, int, int]], controllers: pl.DataFrame, zone_of: dict[str, str]
) -> None:
    """Rules ask what the law was when a device was read; every clock is followed past the newest reading."""
    read = [(row["site_id"], _epoch(row["read_at_utc"])) for row in controllers.iter_rows(named=True)]
    for site_id, instant in read:
        _widen(spans, zone_clock(zone_of[site_id]), instant)
    newest = [max(instant for _, instant in read)] if read else []
    for clock, _, _ in list(spans.values()):
        for instant in newest:
            _widen(spans, clock, instant - 3 * DAY)
            _widen(spans, clock, instant + _AHEAD)


def _widen(spans: dict[str, tuple[Clock, int, int]], clock: Clock, instant: int) -> None:
    _, low, high = spans[clock.name]
    spans[clock.name] = (clock, min(low, instant), max(high, instant + 1))
