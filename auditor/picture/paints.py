"""The ways in which a stretch is painted: their words and their textures."""

from dataclasses import dataclass

_BRIEF, _LAG = 5, 2  # minutes; what never lasts so long is a matter of seconds at a switching time


@dataclass(frozen=True)
class Paint:
    """``letter``, a capital, stands for it in a picture's data, ``label`` beside it, ``words`` elsewhere.

    ``look``: the texture that it is filled with. ``fault``: the rule that finds it, where it is
    something to point at. Where no stretch lasts for ``least_minutes``, it is neither named nor told of.
    """

    letter: str
    look: str
    label: str
    words: str
    fault: str = ""
    least_minutes: int = 1


PAINTS = {  # in the order in which they are painted and told
    "on-dark": Paint("K", "lit", "on in darkness", "on in darkness"),
    "on-dim": Paint("D", "dim", "dimmed", "dimmed in darkness"),
    "on-by-day": Paint("B", "pale", "on by day", "on by day"),
    "maybe": Paint("M", "maybe", "on if somebody is there", "on only if somebody is there"),
    "off-open": Paint("O", "off", "dark while open", "dark while open", "", _BRIEF),
    "on-day": Paint("G", "glare", "on in daylight", "on in daylight", "lit-in-daylight", _BRIEF),
    "on-closed": Paint(
        "C", "glare", "on while closed", "on while closed", "interior-lit-when-closed", _BRIEF
    ),
    "unlit": Paint("U", "unlit", "dark while open", "dark while open", "dark-while-open", _BRIEF),
    "around": Paint(
        "A", "unlit", "dark around closing", "dark around closing or opening", "dark-around-closing", _BRIEF
    ),
    "unmet": Paint(
        "N", "unlit", "off against a duty", "not on while a duty asks for light", "duty-not-met", _BRIEF
    ),
    "extra": Paint("X", "extra", "on, would be off", "on, would be off with a right clock", "", _LAG),
    "brighter": Paint("E", "extra", "more light", "more light than with a right clock", "", _LAG),
    "missing": Paint("Y", "missing", "off, would be on", "off, would be on with a right clock", "", _LAG),
    "dimmer": Paint("L", "missing", "less light", "less light than with a right clock", "", _LAG),
}
NAMES = tuple(PAINTS)
UNPAINTED = -1
NUMBER = {name: number for number, name in enumerate(NAMES)}
# A texture is a ground and marks on it, in a square of so many units; both get their colour from the page.
LOOKS: dict[str, tuple[float, str]] = {
    "lit": (6, ""),
    "dim": (5, "M0 2.5h5"),
    "pale": (6, "M0 6l6-6"),
    "maybe": (5, "M1.25 1.25h.01M3.75 3.75h.01"),
    "off": (5, "M2.5 0v5"),
    "glare": (5, "M-1 1l2-2M0 5l5-5M4 6l2-2"),
    "unlit": (6, "M1.5 1.5h.01M4.5 4.5h.01"),
    "extra": (5, "M-1 4l2 2M0 0l5 5M4-1l2 2"),
    "missing": (4, "M0 2h4"),
}
