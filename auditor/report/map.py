"""The map of sites: panels with an outline, a mark for each site or group of sites, and all that in words."""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from auditor.atlas.frame import Frame, framed
from auditor.atlas.marks import RADII, Mark, Spot, critical_marks, rank_sides, shared_marks
from auditor.atlas.outline import borders, land, package
from auditor.atlas.panels import parted
from auditor.atlas.sphere import vector
from auditor.model import SEVERITIES
from auditor.report.rows import Row, fetch
from auditor.store import Connection
from auditor.wording import counted, grouped, place_words, short

MOST_NAMED = 500  # critical sites whose marks say which they are; the others are drawn all the same
MOST_SHARED = 300  # marks of other sites, about, on all panels
_LEAST_KM = 60  # from top to bottom of a panel
_LEAST_OF_MANY_KM = 500  # the same where there are several: a part of the world must be recognised
_FULL = 1 / 6  # of all sites: a panel with as many is drawn large
_LABELLED = 40  # critical sites of a panel: with more, their ranks beside them would crowd it
_HEADED = 3  # regions in a heading
_TOLD = 12  # regions in a description

_MEANINGS = {
    "critical": "with a critical finding",
    "high": "at worst high",
    "medium": "at worst medium",
    "low": "at worst low",
    "none": "with nothing open",
}

PageOf = Callable[[Row], str]


class _Size(NamedTuple):
    """A panel's width, and its least and largest height, in px."""

    width: int
    heights: tuple[int, int]


_SIZES = {
    "whole": _Size(760, (420, 560)),
    "large": _Size(520, (440, 440)),
    "small": _Size(340, (255, 255)),
}


@dataclass(frozen=True)
class _Panel:
    """Some of the sites, and where they and the marks of those with critical findings lie."""

    sites: dict[int, Row]  # by rank
    size: str
    frame: Frame
    spots: list[Spot]
    pitch: int
    critical: list[Mark]

    @property
    def area(self) -> int:
        """On paper, in square px."""
        return self.frame.width * self.frame.height


def map_view(connection: Connection, page_of: PageOf) -> Row:
    """What the macros of ``front/map-parts.html.j2`` draw.

    ``page_of`` gives the address of a site's page, or nothing where it has none, from its row of
    ``queries/report/map_sites.sql``: site_id, rank, name, region and what is open there.
    """
    sites = fetch(connection, "map_sites")
    panels = _panels(sites)
    critical = [row["rank"] for row in sites if row["worst"] == "critical"]
    named, area = set(critical[:MOST_NAMED]), sum(panel.area for panel in panels)
    views = [_panel_view(panel, named, MOST_SHARED * panel.area // area, page_of) for panel in panels]
    return {
        "rows": [(size, [view for view in views if view["size"] == size]) for size in _SIZES],
        "sites": len(sites),
        "critical": len(critical),
        "unnamed": len(critical) - len(named),
        "legend": _legend(sites),
        "package": package(),
    }


def _legend(sites: Sequence[Row]) -> list[Row]:
    """What each mark means, and at how many sites that is the worst."""
    tally = Counter(row["worst"] for row in sites)
    return [
        {"worst": worst, "radius": RADII.get(worst), "said": f"{counted(tally[worst], 'site')} {said}"}
        for worst, said in _MEANINGS.items()
        if tally[worst]
    ]


def _panels(sites: Sequence[Row]) -> list[_Panel]:
    parts = parted([vector(row["latitude"], row["longitude"]) for row in sites])
    full = sum(len(part) >= _FULL * len(sites) for part in parts)
    sizes = (["large"] * full if full > 1 else ["whole"] * full) + ["small"] * (len(parts) - full)
    return [
        _panel([sites[k] for k in part], size, len(parts)) for part, size in zip(parts, sizes, strict=True)
    ]


def _panel(sites: list[Row], size: str, panels: int) -> _Panel:
    width, heights = _SIZES[size]
    least_km = _LEAST_KM if panels == 1 else _LEAST_OF_MANY_KM
    frame = framed([(row["latitude"], row["longitude"]) for row in sites], width, heights, least_km)
    spots = [Spot(row["rank"], *frame.at(row["latitude"], row["longitude"]), row["worst"]) for row in sites]
    pitch, critical = critical_marks(spots, frame.width, frame.height)
    return _Panel({row["rank"]: row for row in sites}, size, frame, spots, pitch, critical)


def _panel_view(panel: _Panel, named: set[int], most: int, page_of: PageOf) -> Row:
    frame, rows = panel.frame, list(panel.sites.values())
    shared = shared_marks(panel.spots, panel.critical, most, frame.width, frame.height)
    few = len(panel.critical) <= _LABELLED
    sides = rank_sides(panel.critical, shared, frame.width) if few else {}
    return {
        "size": panel.size,
        "frame": frame,
        "land": land(frame),
        "borders": borders(frame),
        "scale_px": round(frame.scale_km / frame.km_per_px),
        "scale": f"{grouped(frame.scale_km)} km",
        "heading": _heading(rows),
        "facts": _facts(rows),
        "description": _description(rows),
        "half": round(0.45 * panel.pitch),
        "shared": [_mark_view(mark, panel, page_of) for mark in shared],
        "critical": [
            _mark_view(mark, panel, page_of) | {"side": sides.get(mark.spots[0].rank)}
            for mark in panel.critical
            if mark.spots[0].rank in named
        ],
        "unnamed": [
            {"x": round(mark.x), "y": round(mark.y)}
            for mark in panel.critical
            if mark.spots[0].rank not in named
        ],
    }


def _mark_view(mark: Mark, panel: _Panel, page_of: PageOf) -> Row:
    worst, number = panel.sites[mark.spots[0].rank], len(mark.spots)
    said = f"{short(worst['name'] or worst['site_id'], 40)}: {_counts(worst)}"
    return {
        "x": round(mark.x),
        "y": round(mark.y),
        "rank": worst["rank"],
        "worst": mark.worst,
        "number": number,
        "radius": None if mark.worst == "critical" else mark.radius,
        "hidden": mark.hidden,
        "href": page_of(worst),
        "title": said if number == 1 else f"{counted(number, 'site')}, first of them {said}",
    }


def _counts(site: Row) -> str:
    return ", ".join(f"{site[name]} {name}" for name in SEVERITIES if site[name]) or "nothing open"


def _regions(sites: Sequence[Row]) -> list[tuple[str, list[Row]]]:
    """The regions that have a name, with their sites; those with most sites first."""
    regions: dict[str, list[Row]] = {}
    for row in sites:
        if row["region"]:
            regions.setdefault(row["region"], []).append(row)
    return sorted(regions.items(), key=lambda pair: (-len(pair[1]), pair[0]))


def _heading(sites: Sequence[Row]) -> str:
    """What a panel is called: its regions, or where it lies."""
    names = [short(name, 40) for name, _ in _regions(sites)]
    if not names:
        return f"Around {place_words(round(sites[0]['latitude'], 1), round(sites[0]['longitude'], 1))}"
    more = len(names) - _HEADED
    return ", ".join(names[:_HEADED]) + (f" and {counted(more, 'more region')}" if more > 0 else "")


def _facts(sites: Sequence[Row]) -> str:
    critical = sum(row["worst"] == "critical" for row in sites)
    if not critical:
        return f"{counted(len(sites), 'site')}, none with a critical finding"
    what = "a critical finding" if critical == 1 else "critical findings"
    return f"{counted(len(sites), 'site')}, {grouped(critical)} with {what}"


def _description(sites: Sequence[Row]) -> str:
    """A panel in words, region by region."""
    regions = _regions(sites)
    said = [f"{short(name, 40)}: {_facts(rows)}" for name, rows in regions[:_TOLD]]
    more = [f"and {counted(len(regions) - _TOLD, 'more region')}"] if len(regions) > _TOLD else []
    return f"{'; '.join([*said, *more] or [_facts(sites)])}."
