"""How times, dates and numbers of a column are written: every way that fits, and what must be asked."""

import re

from auditor.mapping.drafts.profiles import Profile, edges, sun_words
from auditor.mapping.drafts.ways import Keys, Ways


def time_ways(columns: list[Profile]) -> Ways:
    """How times of day are written in these columns, looked at together; of ranges both ends."""
    cells = edges([cell for one in columns for cell in one.cells])
    sun = sun_words(cells)
    rest = [cell for cell in cells if not any(cell.casefold().startswith(word.casefold()) for word in sun)]
    ways = _clock_ways(rest).times(_offset_ways(cells, sun))
    return Ways([keys | ({"sun": sun} if sun else {}) for keys in ways.keys], ways.question)


def _clock_ways(cells: list[str]) -> Ways:
    marked = [cell for cell in cells if re.search(r"\d\s*[ap]\.?\s?m?\.?$", cell, re.IGNORECASE)]
    if marked:
        plain = len(marked) < len(cells) * 0.8
        return Ways([{"time": "12h"}], "Some times lack AM or PM. Is this right?" if plain else "")
    numbers = [float(cell.replace(",", ".")) for cell in cells if re.fullmatch(r"\d+([.,]\d+)?", cell)]
    if len(numbers) > len(cells) / 2:
        return Ways([{"time": how} for how in _counted(numbers)], "How are these times counted?")
    hours = [hour for cell in cells for hour in re.findall(r"(?<!\d)(\d{1,2})[:.h]\d\d", cell)]
    if not hours:
        return Ways()
    told = any(int(hour) > 12 or int(hour) == 0 for hour in hours)  # a leading zero tells nothing
    question = "" if told else "No time after 12:59 stands here: are these times of the 24-hour clock?"
    return Ways([{"time": "24h"}], question)


def early_ends(begins: Profile, ends: Profile) -> str:
    """A row in which something ends before it begins, both in the morning; blank where there is none."""
    for row in zip(begins.rows, ends.rows, strict=True):
        first, last = map(_minutes, row)
        if 0 < last < first < 12 * 60:
            return f"{row[0]} to {row[1]}"
    return ""


def ends_early(begin: str | None, end: str | None) -> bool:
    """Whether what ends at ``end`` ended at or before its beginning, if both were on one day."""
    return 0 <= _minutes(end) <= _minutes(begin)


def _minutes(cell: str | None) -> int:
    """Minutes after midnight of a time of the 24-hour clock; -1 for anything else."""
    time = re.fullmatch(r"(\d{1,2})[:.h](\d\d)", cell or "")
    return int(time[1]) * 60 + int(time[2]) if time else -1


def _counted(numbers: list[float]) -> list[str]:
    """The ways of counting by which nearly all lie within the day, the likeliest first."""
    limits = {
        "excel serial": 1,
        "decimal hours": 24,
        "minutes after midnight": 1440,
        "seconds after midnight": 86400,
    }
    most = sorted(numbers)[int(0.8 * (len(numbers) - 1))]  # a slip or two must not decide
    return [how for how, limit in limits.items() if most <= limit] or ["seconds after midnight"]


def _offset_ways(cells: list[str], sun: dict[str, str]) -> Ways:
    rests = [
        cell[len(word) :].strip()
        for cell in cells
        for word in sun
        if cell.casefold().startswith(word.casefold())
    ]
    if any(re.fullmatch(r"[+\-−–]\s*\d+([.,]\d+)?", rest) for rest in rests):
        return Ways([{"offset": "min"}, {"offset": "h"}], "In what are the offsets from the sun counted?")
    return Ways()


def date_ways(one: Profile) -> Ways:
    """How the dates of a column are written, with times of day behind them or without."""
    found = (re.match(r"(\d{1,2})[./-]\s?(\d{1,2})(?!\d)", cell) for cell in one.cells)
    pairs = [(int(day[1]), int(day[2])) for day in found if day]
    if one.cells and not pairs:  # all begin with a year
        return Ways([{"date": "iso"}])
    days, months = any(first > 12 for first, _ in pairs), any(second > 12 for _, second in pairs)
    if days != months:
        return Ways([{"date": "day-first" if days else "month-first"}])
    both = "Some can only begin with the day, others only with the month. " if days else ""
    return Ways(
        [{"date": "day-first"}, {"date": "month-first"}], f"{both}Does the day come first, or the month?"
    )


def moment_ways(one: Profile) -> Ways:
    """A date and a time of day in one cell."""
    clocks = [re.sub(r"^\S+[T ]\s*", "", cell) for cell in one.cells if not re.match(r"\d{4}-", cell)]
    return date_ways(one).times(_clock_ways(clocks) if clocks else Ways())


def zone_ways(one: Profile) -> Ways:
    """To which zone local times belong: only a cell that has its offset can tell."""
    if one.cells and all(re.search(r"\d(Z|[+-]\d\d:?\d\d)$", cell) for cell in one.cells):
        return Ways()
    question = "Are these instants UTC, or local times of a zone? (Put the zone's name there.)"
    return Ways([{"utc_offset": "+00:00"}, {"zone": "Area/City"}], question)


def unit_ways(one: Profile, known: dict[str, str]) -> Ways:
    """The unit that the header states; ``known`` gives for each word of a header its unit."""
    named = [known[word] for word in re.findall(r"[^\W_]+", one.header.casefold()) if word in known]
    if named:
        return Ways([{"unit": named[-1]}])
    return Ways([{"unit": unit} for unit in dict.fromkeys(known.values())], "In which unit is it?")


def number_keys(columns: list[Profile]) -> tuple[Keys, list[Keys]]:
    """What is sure about points and commas in numbers, and what must be asked."""
    cells = [cell for one in columns for cell in one.cells]
    sure: Keys = {}
    space = next(
        (mark for cell in cells for mark in " \u202f\u00a0" if re.fullmatch(rf"\d+({mark}\d{{3}})+.*", cell)),
        "",
    )
    if space:
        sure["thousands"] = space
    if any(re.fullmatch(r"[+-]?[\d\s]*,\d{1,2}|[+-]?[\d\s]*,\d{4,}|0,\d+", cell) for cell in cells):
        sure["decimal"] = ","
    elif any(re.fullmatch(r"\d{1,3},\d{3}", cell) for cell in cells):
        return sure, [{"thousands": ","}, {"decimal": ","}]
    return sure, []
