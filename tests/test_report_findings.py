"""What a finding says of its money and its dates in the report."""

import re
from pathlib import Path

import pytest

from .conftest import run_audit, site_page, small, write_folder

SPACE = "\u202f"


def test_hours_load_rate_and_scale_give_the_money(tmp_path: Path) -> None:
    # Car park 011 (1 000 W) on by hand for 30 days, at 0.2 a kWh: its light in daylight costs money.
    tables = small()
    tables["sites"][0]["rate_per_kwh"] = 0.2
    tables["circuits"][0]["hold"] = "on"
    run_audit(write_folder(tmp_path / "p", tables), tmp_path / "out", days=30)
    page = site_page(tmp_path / "out", "01")
    shown = re.search(
        r"([\d\u202f]+) kWh in the period, ([\d\u202f]+) a year "
        r"\(([\d\u202f]+) h at full level × 1\u202f000 W, × 0.2 a kWh, × 365/30 days\)",
        page,
    )
    assert shown is not None
    kwh, money, hours = (int(figure.replace(SPACE, "")) for figure in shown.groups())
    assert kwh == hours  # at 1 kW
    assert abs(money - kwh * 0.2 * 365 / 30) <= 0.2 * 365 / 30 * 0.5 + 0.5  # kWh rounded to whole ones


@pytest.mark.parametrize(
    ("season", "words"),
    [
        (("12-10", "12-20"), "Not yet: begins 10 December 2026."),
        (("11-01", "11-04"), "Over since 4 November 2026."),
        (("11-02", "11-20"), "First on 2 November 2026, last on 20 November 2026."),
    ],
)
def test_a_finding_holds_is_over_or_is_still_to_come(
    tmp_path: Path, season: tuple[str, str], words: str
) -> None:
    # Lit from 10:00 to 12:00 in that season; the newest reading is of 5 November.
    tables = small()
    step = tables["events"][0] | {"targets": "011", "from": season[0], "until": season[1]}
    tables["events"] += [
        step | {"event_id": "a", "action": "on", "time": "10:00"},
        step | {"event_id": "b", "action": "off", "time": "12:00"},
    ]
    run_audit(write_folder(tmp_path / "p", tables), tmp_path / "out", days=60)
    page = site_page(tmp_path / "out", "01")
    found = re.findall(r'<h3><a href="../rules.html#r-lit-in-daylight">.*?</article>', page, re.S)
    assert [words in one for one in found if "circuits.csv row 2." in one] == [True]
