"""Where the SQL, the templates and the demo data are: inside the package, or beside it in a checkout."""

from pathlib import Path

_PACKAGE = Path(__file__).parent


def resource(name: str) -> Path:
    """Path of a file or folder such as ``queries/schema.sql`` or ``reports``.

    An installed package carries its resources inside; only a checkout (known by its ``pyproject.toml``)
    has them one level up, so that a stray ``queries`` folder elsewhere is never picked up.
    """
    for root in (_PACKAGE, _PACKAGE.parent):
        path = root / name
        if path.exists() and (root == _PACKAGE or (root / "pyproject.toml").exists()):
            return path
    raise FileNotFoundError(f"the installation lacks {name}")


def query(name: str) -> str:
    """Text of a SQL file below ``queries/``."""
    return resource(f"queries/{name}").read_text(encoding="utf-8")
