"""Clocks that will be wrong within 60 days of the newest reading, and those of which nobody can tell."""

import csv
from datetime import date
from pathlib import Path

import pytest

from auditor.audit import audit
from auditor.report.links import page_name

from .conftest import write_folder
from .soon_case import Soon, audited, clocks, page


@pytest.fixture(scope="module")
def ahead(tmp_path_factory: pytest.TempPathFactory) -> tuple[Soon, Path]:
    """A whole year from January 2027."""
    folder = tmp_path_factory.mktemp("clocks")
    return audited(folder, clocks(), 365), folder


MISSED = "Local time goes forward 1 h at 02:00; this device does not follow. From then on it shows "


@pytest.mark.parametrize(
    ("device", "day", "what"),
    [
        ("none", date(2027, 3, 14), f"{MISSED}1 h less than local time."),
        ("slow", date(2027, 3, 14), f"{MISSED}1 h 5 min less than local time."),
        ("old", date(2027, 3, 14), f"{MISSED}1 h less than local time."),
        ("eu", date(2027, 3, 14), f"{MISSED}1 h less than local time."),  # right again on 28 March: no line
        (
            "arizona",
            date(2027, 3, 14),
            "This device goes forward 1 h by itself; local time does not. "
            "From then on it shows 1 h more than local time.",
        ),
        (
            "half",
            date(2027, 3, 28),
            "Local time goes forward 2 h at 01:00, and this device goes forward 1 h. "
            "From then on it shows 1 h less than local time.",
        ),
    ],
)
def test_a_clock_that_will_be_wrong_is_told_with_what_it_will_show(
    ahead: tuple[Soon, Path], device: str, day: date, what: str
) -> None:
    (row,) = ahead[0][device]
    assert (row["date"], row["kind"], row["what"]) == (day, "clock", what)
    assert (row["rule"], row["severity"], row["fix"]) == ("clock-dst-offset", "high", "on-site")
    assert row["finding_id"] is not None


@pytest.mark.parametrize("device", ["zone", "an hour late", "always fast", "drift"])
def test_a_clock_that_follows_or_comes_right_is_not_told(ahead: tuple[Soon, Path], device: str) -> None:
    assert device not in ahead[0]


@pytest.mark.parametrize("device", ["blank", "unread"])
def test_a_clock_of_which_nobody_can_tell_is_to_be_looked_at(ahead: tuple[Soon, Path], device: str) -> None:
    (row,) = ahead[0][device]
    assert (row["date"], row["kind"]) == (date(2027, 3, 14), "clock-unknown")
    assert (row["severity"], row["rule"], row["finding_id"]) == (None, None, None)
    assert row["what"] == (
        "Local time goes forward 1 h at 02:00. "
        "Whether this device follows nobody can tell from this export: look at it then."
    )


def test_a_period_that_ends_before_the_change_hides_no_clock(tmp_path: Path) -> None:
    found = audited(tmp_path, clocks(devices=("none", "blank")), days=28)
    (row,) = found["none"]
    assert row["date"] == date(2027, 3, 14) and row["finding_id"] is None
    assert found["blank"][0]["kind"] == "clock-unknown"
    assert "nothing after 28 January 2027, where the audited period ends" in page(tmp_path)


@pytest.mark.parametrize("year", [2024, 2030])
def test_a_period_of_other_years_hides_no_clock(tmp_path: Path, year: int) -> None:
    source = write_folder(tmp_path / "source", clocks(devices=("none", "blank")))
    audit(source, tmp_path / "out", date(year, 6, 1), 1, None, lambda stage, length: lambda step: None)
    with (tmp_path / "out" / "soon.csv").open(encoding="utf-8", newline="") as file:
        rows = [(row["date"], row["kind"], row["subject_id"]) for row in csv.DictReader(file)]
    assert rows == [("2027-03-14", "clock", "none"), ("2027-03-14", "clock-unknown", "blank")]


@pytest.mark.parametrize(
    ("read_at", "told"),
    [
        ("2027-01-13T12:00:00Z", True),  # sixty days before 14 March
        ("2027-01-13T04:59:59Z", False),  # in New York still the day before
        ("2027-03-14T06:59:59Z", True),  # a second before the clocks go forward
        ("2027-03-14T07:00:00Z", False),
    ],
)
def test_sixty_days_are_counted_at_the_site(tmp_path: Path, read_at: str, told: bool) -> None:
    tables = clocks(read_at, ("none",))
    tables["controllers"][0]["clock_reading"] = ""
    assert ("none" in audited(tmp_path, tables, days=1)) == told


@pytest.mark.parametrize("subject", ["", "none"])
def test_a_waived_clock_stays_out_whether_there_is_a_finding_or_not(tmp_path: Path, subject: str) -> None:
    tables = clocks(devices=("none", "blank"))
    tables["waivers"] = [{"site_id": "ny", "rule": "clock-dst-offset", "subject_id": subject}]
    assert set(audited(tmp_path, tables, days=28)) == ({"blank"} if subject else set())


def test_a_rule_that_is_switched_off_says_nothing_of_clocks(tmp_path: Path) -> None:
    settings = "[rules.clock-dst-offset]\nenabled = false\n"
    assert audited(tmp_path, clocks(devices=("none", "blank")), settings=settings) == {}


def test_the_report_tells_a_line_with_its_link(ahead: tuple[Soon, Path]) -> None:
    soon, folder = ahead
    (row,) = soon["arizona"][:1]
    link = f'<a href="sites/{page_name(row["site_id"])}#f{row["finding_id"]}">Device arizona</a>'
    assert f"High: {link}. This device goes forward 1 h by itself" in page(folder)


def test_clocks_of_which_nobody_can_tell_are_one_line_of_a_date(ahead: tuple[Soon, Path]) -> None:
    words = "The clocks change, and this export does not tell whether these 2 devices follow. Look then: "
    assert f"<td>1 site</td>\n<td>{words}Device blank, Device unread.</td>" in page(ahead[1])


def test_many_lines_of_one_kind_and_date_are_one_in_the_report_and_all_in_the_csv(tmp_path: Path) -> None:
    tables = clocks(devices=("none",))
    tables["controllers"] = [tables["controllers"][0] | {"controller_id": f"d{n}"} for n in range(8)]
    tables["circuits"][0]["controller_id"] = tables["events"][0]["controller_id"] = "d0"
    audited(tmp_path, tables, days=28)
    shown = page(tmp_path)
    assert "The clocks of these 8 devices will be wrong from this date on" in shown
    assert "Device d0, Device d1, Device d2, Device d3, Device d4 and 3 more." in shown
    with (tmp_path / "out" / "soon.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["subject_id"] for row in rows] == [f"d{n}" for n in range(8)]
    assert {(row["date"], row["kind"], row["site_id"]) for row in rows} == {("2027-03-14", "clock", "ny")}
