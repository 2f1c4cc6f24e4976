"""Pages and their prints: what people wrote is text in every template and drawing, and nothing is fetched."""

import os
import re
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path
from threading import Thread
from typing import Any
from xml.etree import ElementTree as ET

import pytest

import auditor
from auditor.errors import UserError
from auditor.pack.drawings import for_printer
from auditor.pack.paper import library, printed
from auditor.picture import Picture
from auditor.report.page import templates
from auditor.resources import resource

from .names_case import PAYLOADS
from .picture_case import NEW_YORK, drawn, one_site, step

REPORTS = resource("reports")
TEMPLATES = sorted(path.relative_to(REPORTS).as_posix() for path in REPORTS.rglob("*.j2"))
OWN_MARKUP = {  # what goes into a page as it is: drawings, whose names are escaped already, JSON without "<"
    "picture.html.j2": ["drawing.svg | safe", "line.swatch | safe"],
    "front/page.html.j2": ["sites.island | safe"],
}


@pytest.mark.parametrize("name", TEMPLATES)
def test_every_template_escapes_what_it_is_given(name: str) -> None:
    environment = templates("")
    assert environment.autoescape is True
    source = (REPORTS / name).read_text(encoding="utf-8")
    assert re.findall(r"[\w.]+ ?\| ?safe", source) == OWN_MARKUP.get(name, [])
    assert not re.search(r"autoescape|Markup|\|\s*(?:xmlattr|urlize|tojson)", source)
    # An attribute without quotation marks would end at a space of a name.
    assert not re.search(r"<[^>]*\s[\w-]+=\{\{", source)


def test_no_other_room_makes_templates_or_markup() -> None:
    package = Path(auditor.__file__).parent
    texts = {path.relative_to(package).as_posix(): path.read_text("utf-8") for path in package.rglob("*.py")}
    assert [name for name, text in texts.items() if "import jinja2" in text] == ["report/page.py"]
    assert [name for name, text in texts.items() if "markupsafe" in text] == ["report/assets.py"]


# Drawings ------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def picture(tmp_path_factory: pytest.TempPathFactory) -> Picture:
    """A circuit that is named by all payloads at once, in a zone whose change its device misses."""
    tables = one_site(NEW_YORK, dst_rule="none", clock_reading="2026-11-03T08:00:00")
    tables["events"] = [step("on", "16:00"), step("off", "23:00")]
    tables["circuits"][0]["name"] = tables["sites"][0]["name"] = " ".join(PAYLOADS.values())
    return drawn(tmp_path_factory.mktemp("picture"), tables, "2026-10-20", 30)


def test_a_printed_drawing_borrows_what_it_refers_to_and_no_name_is_a_reference(picture: Picture) -> None:
    plain = for_printer(picture)
    assert "url(#x)" in plain.svg  # the words, as they were
    for drawing in (plain, plain.right_clock):
        assert drawing is not None
        for svg in (drawing.svg, *(line.swatch for line in drawing.key)):
            root = ET.fromstring(svg)  # XML refuses a letter that it does not know
            ids = {part.get("id") for part in root.iter()}
            borrowed = {
                found
                for part in root.iter()
                for value in part.attrib.values()
                for found in re.findall(r"url\(#([^)]+)\)", value)
            }
            assert borrowed <= ids
            assert {part.tag.rpartition("}")[2] for part in root.iter()} <= {
                *("svg", "title", "desc", "style", "defs", "pattern", "path", "rect", "g", "use", "clipPath"),
                *("text", "tspan", "circle", "line"),
            }


# Prints --------------------------------------------------------------------------------------------------


@pytest.fixture
def asked() -> Iterator[tuple[str, list[str]]]:
    """The address of a server on this machine, and what it was asked for."""
    found: list[str] = []

    class Listener(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            found.append(self.path)
            self.send_error(404)

        def log_message(self, *_: Any) -> None:
            """Nothing on standard error."""

    server = HTTPServer(("127.0.0.1", 0), Listener)
    Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}", found
    server.shutdown()
    server.server_close()


def test_a_print_asks_nobody_and_reads_no_file(asked: tuple[str, list[str]], tmp_path: Path) -> None:
    try:
        library()
    except UserError as error:  # Pango is a library of the system; CI installs it
        assert not os.environ.get("AUDITOR_NEEDS_PANGO"), error
        pytest.skip(str(error))
    address, found = asked
    secret = tmp_path / "secret.txt"
    secret.write_text("quernholt under the stairs")
    page = f"""
    <html lang="en"><head><title>t</title>
    <link rel="stylesheet" href="{address}/a.css"><link rel="attachment" href="{secret.as_uri()}">
    <style>@import "{address}/b.css"; @font-face {{ font-family: x; src: url({address}/c.woff) }}
    h1 {{ font-family: x; background: url({address}/d.png) }}</style></head>
    <body><h1>t</h1><img src="{address}/e.png" alt="e"><img src="{secret.as_uri()}" alt="f">
    <object data="{address}/g.svg"></object><embed src="{address}/h.svg">
    <svg viewBox="0 0 9 9"><image href="{address}/i.png"/><use href="{address}/j.svg#x"/></svg></body></html>
    """
    content = printed(page, "a4")
    assert content.startswith(b"%PDF") and found == []
    assert b"secret" not in content and b"EmbeddedFile" not in content
