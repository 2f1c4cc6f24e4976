"""The markup of a drawing, part by part. Colours, type and strokes are the page's (picture.css)."""

from collections.abc import Iterable, Mapping
from functools import lru_cache
from xml.sax import saxutils

from auditor.letters import on_page
from auditor.picture.frame import LEFT, MINUTES, PLOT_WIDTH, WIDTH, Frame
from auditor.picture.paints import LOOKS
from auditor.picture.sheet import Ground

_DASHED = ("night-begins", "night-ends", "opens", "closes")
_FOOT = 36.0  # units below the plot, for months and years


def drawing(key: str, frame: Frame, title: str, description: str, parts: Iterable[str]) -> str:
    """A drawing of its parts, from the back to the front. ``key`` begins its ids, its own on a page."""
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" class="year-picture" '
        f'viewBox="0 0 {WIDTH} {number(frame.bottom + _FOOT)}" role="img" aria-labelledby="{key}-t {key}-d">'
        f'<title id="{key}-t">{escape(title)}</title><desc id="{key}-d">{escape(description)}</desc>'
    )
    return f"{head}{''.join(parts)}</svg>"


def escape(words: str) -> str:
    """Whatever people call things, as text of a drawing."""
    return saxutils.escape(on_page(words))


def path(kind: str, d: str) -> str:
    """A stroke."""
    return f'<path class="{kind}" d="{d}" />'


def label(x: float, y: float, words: str, kind: str, anchor: str = "", dy: str = ".35em") -> str:
    """Words at a point; what stands in [brackets] is left out where there is little room."""
    text = escape(words).replace("[", '<tspan class="yp-more">').replace("]", "</tspan>")
    anchored = f' text-anchor="{anchor}"' if anchor else ""
    return f'<text class="{kind}" x="{number(x)}" y="{number(y)}" dy="{dy}"{anchored}>{text}</text>'


def textures(key: str, frame: Frame, looks: Iterable[str]) -> str:
    """Patterns that stay upright and square although the plot is stretched."""
    patterns = "".join(_pattern(key, frame, look) for look in looks)
    return f"<defs>{patterns}</defs>" if patterns else "<defs />"


def _pattern(key: str, frame: Frame, look: str) -> str:
    size, marks = LOOKS[look]
    square = f'width="{number(size)}" height="{number(size)}"'
    back = f"scale({1 / frame.across:.5g} {-1 / frame.up:.5g})"
    return (
        f'<pattern id="{key}-{look}" {square} patternUnits="userSpaceOnUse" patternTransform="{back}">'
        f'<rect class="yp-{look}" {square} />{path(f"yp-{look}-marks", marks) if marks else ""}</pattern>'
    )


def plot(frame: Frame, *parts: str) -> str:
    """The ground, and on it parts in which x is days and y minutes."""
    return (
        f'<rect class="yp-dark" x="{LEFT}" y="{number(frame.top)}" '
        f'width="{PLOT_WIDTH}" height="{number(frame.height)}" />'
        f'<g transform="translate({LEFT} {number(frame.bottom)}) {scaled(frame)}">{"".join(parts)}</g>'
    )


def light(key: str, ground: Ground) -> str:
    """When the sun is up, on the ground of darkness. Other drawings of the page may borrow it."""
    return f'<defs><path class="yp-still" id="{key}-sun" d="{ground.light}" /></defs>'


def paint(key: str, paths: Mapping[str, str]) -> str:
    """What the circuit does: the path of each texture."""
    return "".join(f'<path fill="url(#{key}-{look})" d="{d}" />' for look, d in paths.items())


def sun(key: str) -> str:
    """The light of the drawing that has this key."""
    return f'<use class="yp-light" href="#{key}-sun" />'


def sunlines(key: str, frame: Frame, lender: str) -> str:
    """Sunrise and sunset: the light's outline, without the plot's rim, where it is only cut off."""
    day, minute = 1 / frame.across, 1 / frame.up
    rim = f"M{day:.4g} {minute:.4g}H{frame.days - day:.6g}V{MINUTES - minute:.6g}H{day:.4g}z"
    return (
        f'<clipPath id="{key}-in"><path d="{rim}" /></clipPath>'
        f'<g clip-path="url(#{key}-in)"><use class="yp-line yp-sun" href="#{lender}-sun" /></g>'
    )


def strokes(ground: Ground) -> str:
    """A stroke across each date at its opening, its closing and the edges of its night window."""
    lines = [line for line in _DASHED if line in ground.strokes]
    return "".join(path(_kind(line), ground.strokes[line]) for line in lines)


def _kind(line: str) -> str:
    return "yp-line yp-night" if line.startswith("night") else "yp-line yp-hours"


def hand(frame: Frame) -> str:
    """The line that the script moves to the date that is pointed at."""
    return path("yp-hand", f"M{LEFT} {number(frame.top)}V{number(frame.bottom)}")


def swatch(key: str, look: str, frame: Frame) -> str:
    """A small field of a drawing's texture, for its key."""
    size = f'width="{26 / frame.across:.4g}" height="{13 / frame.up:.4g}"'
    return (
        '<svg class="yp-swatch" viewBox="0 0 26 13" aria-hidden="true">'
        f'<g transform="translate(0 13) {scaled(frame)}"><rect {size} fill="url(#{key}-{look})" /></g></svg>'
    )


def scaled(frame: Frame) -> str:
    """From days and minutes, which go up, to units, which go down."""
    return f"scale({frame.across:.5g} {-frame.up:.5g})"


@lru_cache(maxsize=10_000)
def number(value: float) -> str:
    """A measure to a tenth of a unit."""
    return f"{value:.1f}".rstrip("0").rstrip(".")
