"""A small map, and what comes of it."""

from pathlib import Path

import pytest

from auditor.errors import UserError
from auditor.mapping import mapped_tables
from auditor.model import RawTable

MAP = """
[source]
files = "export*"
[[circuits]]
circuit_id = "{Circuit}"
controller_id = "P1"
area = "parking"
"""


def tables(folder: Path, text: str = MAP) -> list[RawTable]:
    (folder / "m.toml").write_text(text, encoding="utf-8")
    return mapped_tables([folder / "m.toml"])[0]


def refusal(folder: Path, text: str = MAP) -> str:
    """The one sentence."""
    with pytest.raises(UserError) as refused:
        tables(folder, text)
    assert "\n" not in str(refused.value)
    return str(refused.value)
