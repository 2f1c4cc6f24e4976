"""Names and ids as carriers: whatever they say, they are shown, and obeyed by nothing that shows them."""

import csv
import json
import re
from datetime import date
from html.parser import HTMLParser
from pathlib import Path

import duckdb
import icalendar
import openpyxl
import pytest
from markdown_it import MarkdownIt

from auditor.letters import json_text, on_page, printable
from auditor.summary import summary_text

from . import names_case as names
from .conftest import Console
from .names_case import FAKED, OBEYED, PAYLOADS, command, harmless
from .own_rules import folder_of, rule_text

EDITION = Path(__file__).parent.parent / "fixtures" / "codes" / "example-state.toml"
ODD = "the odd words"
# The same letters as a script reads them, in JSON and in an address.
_SPELLED = re.compile(r"\\u(00[01][0-8b-f]|00[89]|202[a-e]|206)|%(00|07|0D|1B|C2%9B|E2%80%AE)", re.IGNORECASE)
FOLDERS = ("in", "out", "visits", "pack", "calendars")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("names")


@pytest.fixture(scope="module")
def ran(folder: Path) -> Console:
    """A run over a portfolio of all payloads, whose results and store the other commands start from."""
    source = names.write(folder / "in")
    out, store = ("--out", folder / "out"), ("--store", folder / "kept.duckdb")
    return command("run", source, *out, *store, "--days", 7)


@pytest.fixture(scope="module")
def store(folder: Path, ran: Console) -> Path:
    assert ran[0] == 0, ran
    return folder / "kept.duckdb"


@pytest.fixture(scope="module")
def visited(folder: Path, store: Path) -> Console:
    return command("visits", "--store", store, "--days", 2, "--out", folder / "visits")


@pytest.fixture(scope="module")
def packed(folder: Path, store: Path) -> Console:
    return command(
        "evidence", "--store", store, "--all-sites", "--out", folder / "pack", "--code", "iecc-2021"
    )


def ids(store: Path, table: str, column: str) -> set[str]:
    with duckdb.connect(str(store), read_only=True) as connection:
        return {cell for (cell,) in connection.execute(f"SELECT {column} FROM {table}").fetchall()}


# Terminals --------------------------------------------------------------------------------------------------


def test_commands_show_names_and_obey_none(ran: Console, visited: Console, packed: Console) -> None:
    for status, out, err in (ran, visited, packed):
        assert status == 0, err
        assert harmless(out) and harmless(err)
    assert "�[31m" in ran[2] and "�[31mred" in visited[1] and "�[31mred" in packed[1]


def _odd_files(folder: Path) -> None:
    """A map with its export, an edition and a rule, in which every text is all payloads at once."""
    odd = " ".join(PAYLOADS.values()).translate({0: None, ord("{"): None, ord("}"): None})
    with (folder / "export.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([["Circuit", f"Load {odd}"], [f"A{odd}", odd]])
    spelled = "".join(f"\\U{ord(letter):08x}" for letter in odd)
    (folder / "circuits.toml").write_text(
        '[source]\nfiles = "export.csv"\n[[circuits]]\ncircuit_id = "{Circuit}"\ncontroller_id = "P1"\n'
        f'area = "{spelled}"'
    )
    edition = re.sub(r'(title|clause) = "', rf"\g<0>{ODD}", EDITION.read_text(encoding="utf-8"))
    (folder / "codes").mkdir()
    (folder / "codes" / "town.toml").write_text(edition.replace(ODD, spelled), encoding="utf-8")
    folder_of(folder, rule_text(title=f'"{spelled}"'))


@pytest.mark.parametrize(
    "words", ["map export.csv", "check circuits.toml", "codes --codes codes", "rules --rules ."]
)
def test_maps_codes_and_rules_are_shown_and_obeyed_by_no_terminal(
    words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    _odd_files(tmp_path)
    monkeypatch.chdir(tmp_path)
    status, out, err = command(*words.split())
    assert status in (0, 1), err  # 1: the area has no translation
    assert "�[31mred" in out and not OBEYED.search(out + err)


def test_an_error_is_one_line_whatever_it_quotes(folder: Path, store: Path) -> None:
    status, out, err = command(
        "export", "--store", store, "--site", PAYLOADS["colour"], "--ics", folder / "x"
    )
    assert (status, out) == (2, "") and harmless(err) and len(err.splitlines()) == 1


@pytest.mark.parametrize("payload", PAYLOADS)
@pytest.mark.parametrize("form", ["text", "markdown", "json"])
def test_a_summary_has_its_ten_lines_and_no_more(payload: str, form: str) -> None:
    said = summary_text(facts(PAYLOADS[payload]), form, Path("/out/report.html"))
    assert harmless(said)
    if form == "json":
        assert json.loads(said)["portfolio"] == PAYLOADS[payload]  # to a script it is what it was
    else:
        assert len(said.splitlines()) == 10


def facts(name: str) -> dict[str, object]:
    """The facts of a summary of one site of this name."""
    dates = dict.fromkeys(("run_date", "first_date", "last_date"), date(2026, 11, 3))
    counts = ("sites", "circuits", "rejected", "not_judged", "critical", "high", "medium", "low")
    more = ("unanswered", "still_there", "visits", "from_desk", "soon", "avoidable_cost")
    site = {"site_id": "1", "name": name, "score": 1.0}
    named = {"portfolio": name, "currency": name, "first_sites": [site]}
    return dates | dict.fromkeys(counts, 1) | dict.fromkeys(more, 0) | {"run_before": None} | named


@pytest.mark.parametrize("payload", PAYLOADS)
def test_markdown_shows_a_name_letter_by_letter(payload: str) -> None:
    said = summary_text(facts(PAYLOADS[payload]), "markdown", Path("/out/my_report*.html"))
    page = _Words(MarkdownIt("commonmark").render(said))
    assert set(page.tags) == {"ul", "li"}  # no link, no picture, no HTML of somebody's
    name = " ".join(printable(PAYLOADS[payload]).split())
    assert f"First: {name}." in page.said and f"{name}, read to" in page.said
    assert "Report: /out/my_report*.html" in page.said


class _Words(HTMLParser):
    """The elements of a page, and its words with spaces as one."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[str] = []
        self.words: list[str] = []
        self.feed(text)
        self.said = " ".join("".join(self.words).split())

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += [name for name, _ in attrs]

    def handle_data(self, data: str) -> None:
        self.words.append(data)


@pytest.mark.parametrize("payload", PAYLOADS)
def test_json_for_a_terminal_reads_as_the_same_text(payload: str) -> None:
    said = json_text({"name": PAYLOADS[payload], "flag": "\U0001f3f4\U000e0067"}, indent=1)
    assert harmless(said) and json.loads(said)["name"] == PAYLOADS[payload]
    assert json.loads(said)["flag"] == "\U0001f3f4\U000e0067"  # beyond 16 bits JSON takes two escapes


def test_letters_of_every_script_stay() -> None:
    # Persian with a zero-width non-joiner, a soft hyphen, an ideographic space, thin and unbreakable spaces
    kept = "می\u200cخواهم So\u00adfia 図書館\u3000北 1\u202f000\u00a0m é 👍"
    assert printable(kept) == kept


def test_all_that_is_printed_goes_through_one_door() -> None:
    """But for the cursor, and the log of a day, which colours words that were made printable before."""
    package = Path(__file__).parent.parent / "auditor"
    call = re.compile(r"\b(?:print|s?echo)\(")
    texts = {path.relative_to(package): path.read_text("utf-8") for path in package.rglob("*.py")}
    found = {path.as_posix(): len(call.findall(text)) for path, text in texts.items() if call.search(text)}
    assert found == {
        "commands/saying.py": 1,
        "cli.py": 2,
        "__main__.py": 1,  # one sentence of our own, before the commands are there
    }


# Files ------------------------------------------------------------------------------------------------------


def test_nothing_is_written_outside_the_folders(
    folder: Path, ran: Console, visited: Console, packed: Console
) -> None:
    assert {path.name for path in folder.iterdir()} <= {*FOLDERS, "kept.duckdb"}
    beside = {path.name for path in folder.parent.iterdir()} | {path.name for path in Path("/").iterdir()}
    assert not any("outside" in name for name in beside)
    assert len(list((folder / "out" / "sites").iterdir())) == len(PAYLOADS)
    assert len(list((folder / "pack").glob("*.json"))) == len(PAYLOADS) + 1  # and their schema


def test_ids_come_through_sql_tables_and_csv_as_they_are(folder: Path, store: Path) -> None:
    wanted = {row["circuit_id"] for row in names.tables()["circuits"]}
    assert ids(store, "circuits", "circuit_id") == wanted
    with (folder / "out" / "circuits.csv").open(encoding="utf-8", newline="") as file:
        assert {row["circuit_id"] for row in csv.DictReader(file)} == wanted
    assert ids(store, "portfolio", "name") == {PAYLOADS["a line of its own"]}


def test_no_csv_and_no_workbook_holds_a_formula(folder: Path, visited: Console) -> None:
    number = re.compile(r"-?\d+(\.\d+)?(e-?\d+)?")
    for path in [*folder.glob("out/*.csv"), *folder.glob("visits/*.csv")]:
        with path.open(encoding="utf-8", newline="") as file:
            cells = [cell for row in csv.reader(file) for cell in row if cell.startswith(tuple("=+-@\t\r"))]
        assert all(map(number.fullmatch, cells)), path.name
    book = openpyxl.load_workbook(folder / "out" / "findings.xlsx")
    assert not [cell for sheet in book for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]


def test_pages_hold_no_markup_of_a_name(folder: Path, visited: Console, packed: Console) -> None:
    pages = [path for name in ("out", "visits", "pack") for path in (folder / name).rglob("*.html")]
    assert len(pages) > 2 * len(PAYLOADS)
    for path in pages:
        page = _Words(path.read_text(encoding="utf-8"))
        assert not {"img", "u", "iframe"} & set(page.tags), path.name
        assert not [name for name in page.attributes if name.startswith("on") or name == "style"], path.name


def test_pages_and_their_data_hold_no_letter_that_is_obeyed(
    folder: Path, visited: Console, packed: Console
) -> None:
    for path in (path for name in ("out", "visits", "pack") for path in (folder / name).rglob("*.html")):
        text = path.read_bytes().decode()
        assert not OBEYED.search(text) and not _SPELLED.search(text), path.name
    assert "\ufffd[31mred" in (folder / "out" / "report.html").read_text(encoding="utf-8")


def test_every_page_forbids_what_is_not_its_own(folder: Path, visited: Console, packed: Console) -> None:
    for path in (path for name in ("out", "visits", "pack") for path in (folder / name).rglob("*.html")):
        text = path.read_text(encoding="utf-8")
        (policy,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
        assert policy.startswith("default-src 'none'; ") and "unsafe" not in policy, path.name
        assert policy.endswith("base-uri 'none'; form-action 'none'"), path.name


@pytest.mark.parametrize("payload", PAYLOADS)
def test_a_calendar_holds_the_events_that_were_counted(payload: str, folder: Path, store: Path) -> None:
    device, path = names.device_id(PAYLOADS[payload]), folder / "calendars" / "device.ics"
    path.parent.mkdir(exist_ok=True)
    status, said, err = command("export", "--store", store, "--controller", device, "--ics", path)
    assert status == 0 and harmless(said), err
    calendar = icalendar.Calendar.from_ical(path.read_bytes())
    assert {part.name for part in calendar.walk()} == {"VCALENDAR", "VEVENT"}
    assert f"({len(calendar.walk('VEVENT'))} events)" in said
    assert str(calendar["NAME"]).startswith(f"Programmed on: controller {device[:3]}")
    assert b"\n" + FAKED.encode() not in path.read_bytes().replace(b"\r\n", b"\n")


def test_the_end_of_a_line_in_a_name_is_a_space_on_a_page() -> None:
    assert on_page("Hall,\r\nground floor") == "Hall, \nground floor"  # which HTML shows as one space
    assert on_page("Hall\x1b[2J\u202e") == "Hall\ufffd[2J\ufffd"
