"""report.html: the only import of jinja2."""

from pathlib import Path
from typing import Any

from auditor.model import Rule, Settings
from auditor.results import write_text
from auditor.store import Connection


def write_report(
    connection: Connection, path: Path, rules: list[Rule], settings: Settings, facts: dict[str, Any]
) -> None:
    """Writes the report."""
    write_text(path, "")
