"""The words that an edition's file may use: items, their limits, marks, areas, outcomes."""

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
    "exterior-daylight-off": ("sunrise_minutes",),
    "facade-night-off": (),
    "exterior-setback": ("cut_percent", "inactivity_minutes"),
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
