"""The list of all sites, to be filtered and sorted in the browser, as the smallest text that tells it."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from auditor.letters import on_page
from auditor.model import SEVERITIES
from auditor.report.links import Places, page_name
from auditor.report.rows import Row
from auditor.wording import short

LISTED = 10_000  # sites; sites.csv has all
PLAIN = 300  # rows that the page shows without its script


def site_list(listed: Sequence[Row], number: int, titles: Mapping[str, str], places: Places) -> Row:
    """What the section shows of ``number`` sites: the first rows, and all listed ones for the script."""

    def found(key: str) -> set[str]:
        return {kind[key] for row in listed for kind in row["kinds"] if kind[key]}

    return {
        "rows": [row | places(row) for row in listed[:PLAIN]],
        "number": number,
        "listed": len(listed),
        "island": island(listed, places),
        "regions": [
            (region, short(region)) for region in sorted({row["region"] or "" for row in listed}) if region
        ],
        "rules": sorted(((rule, titles[rule]) for rule in found("rule")), key=lambda pair: pair[1]),
        "severities": [(severity, severity) for severity in SEVERITIES if severity in found("severity")],
        "areas": [(area, area) for area in sorted(found("area"))],
    }


class _Numbers:
    """Values by the number in which they first came."""

    def __init__(self) -> None:
        self.known: dict[Any, int] = {}

    def __call__(self, value: Any) -> int:
        return self.known.setdefault(value, len(self.known))


def island(rows: Sequence[Row], places: Places) -> str:
    """JSON that may stand inside a script element: regions, kinds of finding, and an array a site.

    A site is [rank, id, name, region, critical, high, medium, low, kWh, money, visit, kinds, address,
    page]. Regions and kinds are numbers of their lists; kWh and money are whole, null where not known.
    """
    regions, kinds = _Numbers(), _Numbers()
    sites = [_site(row, places, regions, kinds) for row in rows]
    text = json.dumps(
        {"regions": list(regions.known), "kinds": list(kinds.known), "sites": sites},
        ensure_ascii=False,
        separators=(",", ":"),
    )
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def _site(row: Row, places: Places, regions: _Numbers, kinds: _Numbers) -> list[Any]:
    return [
        row["rank"],
        on_page(row["site_id"]),
        on_page(short(row["name"] or "")),
        regions(on_page(row["region"] or "")),
        *(row[severity] for severity in SEVERITIES),
        _rounded(row["avoidable_kwh"]),
        _rounded(row["avoidable_cost"]),
        int(row["visit_needed"]),
        [kinds((kind["rule"], kind["severity"], kind["area"] or "")) for kind in row["kinds"]],
        on_page(short(row["address"] or "", 120)),
        page_name(row["site_id"]) if row["rank"] <= places.pages else "",
    ]


def _rounded(value: float | None) -> int | None:
    return None if value is None else round(value)
