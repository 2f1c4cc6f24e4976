"""The words that an edition's file may use: fields, items, their limits, marks, areas, outcomes."""

from dataclasses import dataclass

SEEN = "seen in a public copy"
MEMORY = "from memory, check"
MARKS = (SEEN, MEMORY)
CONFIDENCES = ("high", "medium", "low")
BOUNDS = ("at least", "at most", "above")

CONSISTENT = "consistent"
CONTRARY = "contrary"
INSUFFICIENT = "insufficient data"
NOT_APPLICABLE = "not applicable"
OUTCOMES = (CONTRARY, INSUFFICIENT, CONSISTENT, NOT_APPLICABLE)  # the loudest first

AREAS = (  # that a code item may be about; egress and security never are
    *("interior", "parking", "walkway", "canopy", "facade", "landscape", "sign", "other-exterior"),
)

# Items in the order of a report, each with the limits that its query reads.
ITEMS: dict[str, tuple[str, ...]] = {
    "interior-shutoff": ("vacancy_minutes",),
    "weekend-days": (),
    "holiday-shutoff": ("off_hours",),
    "seven-day-clock": ("day_types",),
    "override-time": ("override_minutes",),
    "override-area": ("area_ft2", "relieved_area_ft2"),
    "schedule-area": ("area_ft2", "floors"),
    "clock-backup": ("clock_hours", "program_hours"),
    "clock-accuracy": ("minutes_a_year",),
    "dst-rule": (),
    "sun-times": ("shift_minutes",),
    "exterior-daylight-off": ("sunrise_minutes", "exempt_watts"),
    "facade-night-off": ("exempt_watts",),
    "exterior-setback": ("cut_percent", "inactivity_minutes", "exempt_watts"),
    "exterior-scheduling": ("cut_percent", "most_cut_percent", "night_periods"),
    "motion-control": (
        *("luminaire_watts", "height_ft", "inactivity_minutes", "group_watts"),
        *("cut_percent", "most_cut_percent"),
    ),
    "sign-dimming": ("daylight_hours", "cut_percent"),
    "automatic-on": ("most_on_percent",),
}
WITH_WINDOWS = ("facade-night-off", "exterior-setback", "exterior-scheduling")
# Without these an item cannot be judged at all: an edition that asks for it must give them.
NEEDED_LIMITS: dict[str, tuple[str, ...]] = {
    "seven-day-clock": ("day_types",),
    "override-time": ("override_minutes",),
    "override-area": ("area_ft2",),
    "clock-backup": ("clock_hours", "program_hours"),
    "clock-accuracy": ("minutes_a_year",),
    "sun-times": ("shift_minutes",),
    "exterior-setback": ("cut_percent", "inactivity_minutes"),
    "exterior-scheduling": ("cut_percent", "most_cut_percent", "night_periods"),
    "motion-control": ("luminaire_watts", "height_ft", "inactivity_minutes", "group_watts", "cut_percent"),
    "sign-dimming": ("daylight_hours", "cut_percent"),
}
WITH_AREAS = tuple(key for key in ITEMS if key not in (
    "seven-day-clock", "clock-backup", "clock-accuracy", "dst-rule", "sun-times"
))  # fmt: skip


@dataclass(frozen=True)
class LimitKind:
    """How a limit is read, whatever the edition: its one ``bound``, its measure, the most that it can be.

    ``measure`` is the first word of the unit; blank for what is counted.
    """

    bound: str
    measure: str
    meaning: str
    most: float = 1e6  # beyond it something was mistyped


LEAST, MOST, ABOVE = BOUNDS
LIMITS: dict[str, LimitKind] = {
    "vacancy_minutes": LimitKind(MOST, "min", "until an occupancy sensor switches off"),
    "off_hours": LimitKind(LEAST, "h", "off on a holiday"),
    "day_types": LimitKind(LEAST, "", "types of day in a week", 7),
    "override_minutes": LimitKind(MOST, "min", "that an override lasts"),
    "area_ft2": LimitKind(MOST, "ft²", "that one override, zone or schedule serves"),
    "relieved_area_ft2": LimitKind(MOST, "ft²", "the same, at the site_types of the exception large-space"),
    "floors": LimitKind(MOST, "", "that one schedule serves"),
    "clock_hours": LimitKind(LEAST, "h", "that date and time outlast a power cut"),
    "program_hours": LimitKind(LEAST, "h", "that the program outlasts a power cut"),
    "minutes_a_year": LimitKind(MOST, "min", "that a clock drifts"),
    "shift_minutes": LimitKind(MOST, "min", "between the device's sunrise or sunset and the site's"),
    "sunrise_minutes": LimitKind(MOST, "min", "on after sunrise"),
    "exempt_watts": LimitKind(MOST, "W", "of exterior load, up to which small-exterior-work may apply"),
    "cut_percent": LimitKind(LEAST, "%", "that power goes down by: 30 leaves 70", 100),
    "most_cut_percent": LimitKind(MOST, "%", "that power goes down by in the lower step", 100),
    "inactivity_minutes": LimitKind(MOST, "min", "without anybody there until the cut"),
    "night_periods": LimitKind(LEAST, "", "of a night that can have levels of their own"),
    "luminaire_watts": LimitKind(ABOVE, "W", "a luminaire, above which the item is about it"),
    "height_ft": LimitKind(MOST, "ft", "up to which the item is about a luminaire"),
    "group_watts": LimitKind(MOST, "W", "on one sensor"),
    "daylight_hours": LimitKind(
        ABOVE, "h", "of daylight a day, above which a sign that burns is dimmed at night"
    ),
    "most_on_percent": LimitKind(MOST, "%", "of the power that may come on by itself", 100),
}

# Fields of a file, table by table.
BASIS = {
    "mark": f'"{SEEN}" or "{MEMORY}"',
    "confidence": ", ".join(CONFIDENCES),
    "source": "where you read it",
}
HEAD = {
    "id": "what --code asks for; no other file's",
    "title": "what the pages say",
    "amends": "id of the edition whose items hold where this file says nothing (blank: none)",
    "item": "tables [[item]], each of one key, and whole",
}
ITEM = {
    "key": "one of the items below",
    "clause": "number of the clause",
    "requirement": "what it asks for, in your own words",
    "asked": "false: not asked for here (default true)",
    "areas": "list of areas that the item is about",
    **BASIS,
    "limit": "tables [[item.limit]]",
    "window": "tables [[item.window]]",
    "exception": "tables [[item.exception]]",
}
LIMIT = {
    "name": "one of the item's limits below",
    "bound": "as below",
    "value": "a number",
    "unit": "its measure, and what it is of: % of the power",
    **BASIS,
}
EDGES = {
    "from_time": 'a start, "HH:MM"',
    "from_closing_minutes": "a start, in minutes after closing; the later of two counts",
    "until_time": 'an end, "HH:MM"',
    "until_opening_minutes": "an end, in minutes before opening; the earlier of two counts",
}
WINDOW = {"name": "in words, as the pages say it", **EDGES, **BASIS}
EXCEPTION = {
    "tag": "a short name",
    "words": "the exception, in your own words",
    "site_types": "list of site types that it is for, as sites.site_type has them",
    "outcome": f'what these get instead: "{INSUFFICIENT}" or "{NOT_APPLICABLE}"; blank: it is only told',
    **BASIS,
}
