"""What of a text may be shown: controls are obeyed by terminals and browsers, whoever wrote them."""

import json
import unicodedata
from collections.abc import Callable
from typing import Any

# Controls, formats (which turn the order of letters round, or hide them), half pairs, and ends of lines.
_OBEYED = ("Cc", "Cf", "Cs", "Zl", "Zp")
_JOINERS = "\u200c\u200d\u00ad"  # formats by which letters stand joined or apart, and a soft hyphen
# No-break spaces, common in our own words and obeyed by nobody, which Python does not call printable.
_NO_BREAK = str.maketrans("", "", "\u202f\u00a0")
_SPACES = {"\t": "\t", "\n": "\n", "\r": " ", "\f": " "}  # to HTML, where any of them is one


def printable(text: str) -> str:
    """The text as one line that is shown as it stands: U+FFFD for whatever would be obeyed."""
    return spelled(text, lambda _: "\ufffd")


def on_page(text: str) -> str:
    """The text for a page, with spaces for ends of lines and tabs, U+FFFD for what else is obeyed."""
    return spelled(text, lambda letter: _SPACES.get(letter, "\ufffd"))


def spelled(text: str, how: Callable[[str], str]) -> str:
    """The text with ``how`` of each letter that would be obeyed in its place."""
    if text.isprintable() or text.translate(_NO_BREAK).isprintable():  # nearly all are, and this is quick
        return text
    return "".join(how(letter) if _is_obeyed(letter) else letter for letter in text)


def json_text(value: Any, **options: Any) -> str:
    """JSON with letters as they are; those that would be obeyed are escaped, and read as the same text."""
    lines = json.dumps(value, ensure_ascii=False, **options).split("\n")
    return "\n".join(spelled(line, lambda letter: json.dumps(letter)[1:-1]) for line in lines)


def _is_obeyed(letter: str) -> bool:
    return unicodedata.category(letter) in _OBEYED and letter not in _JOINERS
