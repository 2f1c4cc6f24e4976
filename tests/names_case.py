"""A portfolio in which every text that somebody may choose wants something from whoever shows it."""

import contextlib
import io
import re
from pathlib import Path

from auditor.cli import main

from .conftest import Console, Row, Tables, write_folder

FAKED = "Open findings: 0 critical, 0 high, 0 medium, 0 low."
# What it wants, by a name for it. None holds a semicolon, which parts the ids of a list.
PAYLOADS = {
    "colour": "\x1b[31mred",  # ECMA-48, section 5.4: CSI, and what follows is obeyed
    "title of the window": "\x1b]0,owned\x07",
    "CSI as one letter": "\x9b2J",
    "another order of letters": "\u202etxt.exe",
    "a line of its own": f"a\n{FAKED}",
    "the line over again": f"a\r{FAKED}",
    "NUL": "a\x00b",
    "SQL": "' OR 1=1 --",
    "SQL, quoted": '") UNION SELECT 1 --',
    "a path": "/../../../outside",
    "a formula": "=1+1",
    "HTML": "</td><img src=x onerror=alert(1)>",
    "a script": "</script><script>alert(1)</script>",
    "an attribute": '" onload="alert(1)',
    "Markdown": "[free](javascript:alert(1)) ![x](http://203.0.113.1/x.png) *a* <u>b</u>",
    "a drawing's reference": 'url(#x) id="x" <pattern id="x">',
    "letters that XML does not know": "a\x01b\ufffe",
    "a template": "{{ 7*7 }}{% raw %}",
}
OBEYED = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")  # C0 but TAB and LF, C1, bidi


def device_id(payload: str) -> str:
    """The id of the device of this payload's site."""
    return f"{_number(payload)}A{payload}"


def _number(payload: str) -> str:
    return f"{list(PAYLOADS.values()).index(payload):02}"


def tables() -> Tables:
    """A site of each payload, which ends every id and is every other text of it."""
    sites = [_site(payload) for payload in PAYLOADS.values()]
    whole = {name: [row for site in sites for row in site[name]] for name in sites[0]}
    whole["sites"][0]["odd \x1b[31m"] = "x"  # a column that no table has
    return whole


def _site(payload: str) -> Tables:
    site, device, number = f"{_number(payload)}{payload}", device_id(payload), _number(payload)
    lot, hall, sensor = (f"{number}{kind}{payload}" for kind in ("lot", "hall", "sensor"))
    place: Row = {"latitude": 40.7, "longitude": -74.0, "timezone": "America/New_York"}
    named: Row = dict.fromkeys(("name", "address", "region", "site_type", "energy_code"), payload)
    on: Row = {"event_id": f"on{payload}", "controller_id": device, "targets": hall, "days": "daily"}
    return {
        "sites": [{"site_id": site, **place, **named}],
        "controllers": [{"controller_id": device, "site_id": site, "read_at": "2026-11-03T14:05:00Z"}],
        "circuits": [
            {"circuit_id": lot, "controller_id": device, "area": "parking", "name": payload, "hold": "on"},
            {"circuit_id": hall, "controller_id": device, "area": "interior", "name": payload}
            | {"exempt_reason": payload},
        ],
        "sensors": [
            {"sensor_id": sensor, "controller_id": device, "kind": "photocontrol", "circuits": lot},
        ],
        "events": [
            on | {"action": "on", "anchor": "clock", "time": "07:00"},
            on
            | {"event_id": f"cal{payload}", "action": "off", "anchor": "clock", "time": "19:00"}
            | {"calendar": payload},
        ],
        "hours": [{"site_id": site, "days": "MO,TU,WE,TH,FR", "opens": "08:00", "closes": "18:30"}],
        "closures": [{"site_id": site, "date": "2026-11-05", "calendar": payload}],
        "waivers": [
            {"site_id": site, "subject_id": hall, "rule": "on-without-off", "reason": payload}
            | {"approved_by": payload}
        ],
    }


def settings(payload: str) -> str:
    """A portfolio.toml whose texts are the payload, every letter spelled by its number."""
    spelled = "".join(f"\\U{ord(letter):08x}" for letter in payload)
    return f'[portfolio]\nname = "{spelled}"\ncurrency = "{spelled}"\nrate_per_kwh = 0.2\n'


def write(folder: Path) -> Path:
    """The folder of the portfolio, whose own name is a payload, too."""
    return write_folder(folder, tables(), settings(PAYLOADS["a line of its own"]))


def command(*words: object) -> Console:
    """A command in this process, for fixtures of a module: exit status, standard output, standard error."""
    out, err = io.BytesIO(), io.BytesIO()
    with contextlib.redirect_stdout(_text(out)), contextlib.redirect_stderr(_text(err)):
        try:
            main.main([str(word) for word in words], "auditor")
        except SystemExit as stopped:
            return int(str(stopped.code)), out.getvalue().decode(), err.getvalue().decode()
    raise AssertionError("a command ends by exiting")


def _text(stream: io.BytesIO) -> io.TextIOWrapper:
    return io.TextIOWrapper(stream, encoding="utf-8", write_through=True)


def harmless(said: str) -> bool:
    """Whether a terminal would only show it, and no line of it is somebody else's."""
    return not OBEYED.search(said) and not any(line.startswith(FAKED) for line in said.splitlines())
