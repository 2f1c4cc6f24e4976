"""A device in words: its clock, its rule, its place, its hand switch."""

from collections.abc import Sequence

from auditor.report.rows import Row
from auditor.wording import clock_error_text, dates_text, moment_text, place_words

_SHOWN = 4  # stretches of a clock's error; a longer list tells nobody more
_RULES = {
    "zone": "follows the law of its zone",
    "none": "no daylight saving time",
    "us-2007": "the United States' dates since 2007",
    "us-1987": "the United States' dates before 2007",
    "eu": "the European Union's dates",
}


def device_view(device: Row, errors: Sequence[Row]) -> Row:
    """What a site's section says of one device."""
    return {
        "controller_id": device["controller_id"],
        "read": moment_text(device["read_at_utc"]),
        "clock": clock_words(device["clock_reading_local"] is not None, errors),
        "rule": _rule_words(device),
        "place": place_words(device["latitude"], device["longitude"]),
        "hold": device["hold"],
        "remote": bool(device["remote"]),
        "backup_hours": device["clock_backup_hours"],
        "contact": moment_text(device["last_contact_utc"]) if device["last_contact_utc"] else "",
    }


def clock_words(was_read: bool, errors: Sequence[Row]) -> str:
    """The clock over the audited dates: "shows 1 h less than local time, 14 March to 6 November 2027"."""
    start = "" if was_read else "no reading; by its settings it "
    if len({row["error_s"] for row in errors}) == 1:
        return f"{start}shows {clock_error_text(errors[0]['error_s'])} on every audited date"
    said = [
        f"{clock_error_text(row['error_s'])}, {dates_text(row['first_date'], row['last_date'])}"
        for row in errors[:_SHOWN]
    ]
    more = f"; and {len(errors) - _SHOWN} changes more" if len(errors) > _SHOWN else ""
    return f"{start}shows {'; '.join(said)}{more}" if said else f"{start or 'its error '}cannot be told"


def _rule_words(device: Row) -> str:
    rule = _RULES.get(device["dst_rule"] or "", "not known")
    offset = device["utc_offset_s"]
    return rule if offset is None else f"{rule}, standard time UTC{offset_words(offset)}"


def offset_words(seconds: int) -> str:
    """An offset from UTC: "−05:00"."""
    minutes = abs(seconds) // 60
    return f"{'−' if seconds < 0 else '+'}{minutes // 60:02}:{minutes % 60:02}"
