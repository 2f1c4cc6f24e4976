"""Figures as a reader wants them: thin spaces, units, the currency, and "not known" for what is blank."""

from auditor.wording import grouped, spaced

UNKNOWN = "not known"
_COLUMNS = {
    "hours": "opening hours",
    "clock_reading": "a clock reading",
    "dst_rule": "a daylight-saving rule",
    "latitude;longitude": "a location set in the device",
    "site_type": "a site type",
    "energy_code": "a code edition",
    "clock_backup_hours": "the clock's backup time",
}


def whole(value: float | None) -> str:
    """A figure of a table: whole, "< 1" for a trace, "not known" for a blank."""
    if value is None:
        return UNKNOWN
    return "< 1" if 0 < value < 0.5 else grouped(value)


def hours(minutes: float | None) -> str:
    """Minutes as hours, in words: "1 204 h", "12 min"."""
    if minutes is None:
        return UNKNOWN
    if 0 < minutes < 59.5:
        return f"{'< 1' if minutes < 0.5 else round(minutes)} min"
    return f"{grouped(minutes / 60)} h"


def kwh(value: float | None) -> str:
    """Energy with its unit."""
    return UNKNOWN if value is None else f"{whole(value)} kWh"


def share(percent: float) -> str:
    """A part of a whole: "15 %", "less than 1 %"."""
    return "less than 1\N{NO-BREAK SPACE}%" if 0 < percent < 1 else f"{round(percent)}\N{NO-BREAK SPACE}%"


def plain(value: float) -> str:
    """A setting, a rate or a load as it was written: 30, 0.185, "1 650.5"."""
    return spaced(f"{value:,.10g}")


def threshold(value: float, unit: str) -> str:
    """A rule's threshold with its unit and meaning; shares as per cent: "95 % of a night window; …"."""
    if unit.startswith("share "):
        return f"{plain(round(100 * value, 6))}\N{NO-BREAK SPACE}% {unit.removeprefix('share ')}"
    return f"{plain(value)} {unit}"


def lacking(missing: str) -> str:
    """What a judgement lacked, in words rather than as a column."""
    return _COLUMNS.get(missing, missing.replace("_", " ").replace(";", " and "))


def sentence(text: str) -> str:
    """Other people's words as one sentence."""
    return f"{text.strip().rstrip('.')}."


class Money:
    """Sums in the portfolio's currency, which may not be named."""

    def __init__(self, currency: str) -> None:
        self.currency = currency.strip()

    def __call__(self, value: float | None) -> str:
        """A sum with its currency: "EUR 2 192"."""
        if value is None:
            return UNKNOWN
        return self._named(whole(value))

    def rate(self, value: float) -> str:
        """What a kWh costs, as it was written: "EUR 0.185"."""
        return self._named(plain(value))

    def _named(self, amount: str) -> str:
        return f"{self.currency}\N{NO-BREAK SPACE}{amount}".strip("\N{NO-BREAK SPACE}")

    @property
    def column(self) -> str:
        """The unit at the head of a column of sums a year."""
        return f"{self.currency or 'money'} a year"
