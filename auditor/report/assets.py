"""Style and script of a page, and the policy that lets a browser run these and nothing else."""

import base64
import hashlib
from collections.abc import Sequence

from markupsafe import Markup

from auditor.resources import resource


def assets(styles: Sequence[str], scripts: Sequence[str] = (), last: str = "") -> dict[str, Markup]:
    """``style`` and ``script`` from files of the reports folder, and the security ``policy`` for them.

    ``last`` is style of this page alone.
    """
    style, script = _joined(styles) + last, _joined(scripts)
    allowed = f"default-src 'none'; style-src '{_digest(style)}'"
    allowed += f"; script-src '{_digest(script)}'" if script else ""
    policy = f"{allowed}; base-uri 'none'; form-action 'none'"
    return {name: Markup(text) for name, text in (("style", style), ("script", script), ("policy", policy))}


def _joined(names: Sequence[str]) -> str:
    return "".join((resource("reports") / name).read_text(encoding="utf-8") for name in names)


def _digest(text: str) -> str:
    """As CSP level 3 has it: the digest of the element's text, in base64."""
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}"
