"""A drawing as SVG, from the back to the front. Colours, type and strokes are the page's (picture.css)."""

from collections.abc import Iterable, Sequence
from functools import lru_cache
from xml.etree import ElementTree as ET  # builds, and escapes whatever people call things

from auditor.picture.frame import LEFT, MINUTES, PLOT_WIDTH, WIDTH, Frame
from auditor.picture.paints import LOOKS, PAINTS
from auditor.picture.reading import Piece, SiteYear
from auditor.picture.shapes import Span, areas, dashes

_FOOT = 36.0  # units below the plot, for months and years


class Canvas:
    """One drawing. ``key`` begins its ids, so that they are its own on a page.

    ``sun``: the key of a drawing on the same page whose light this one borrows.
    """

    def __init__(self, key: str, frame: Frame, title: str, description: str, sun: str = "") -> None:
        self.key, self.frame, self.sun = key, frame, sun or key
        self.root = ET.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "class": "year-picture",
                "viewBox": f"0 0 {WIDTH} {number(frame.bottom + _FOOT)}",
                "role": "img",
                "aria-labelledby": f"{key}-t {key}-d",
            },
        )
        self.add(self.root, "title", id=f"{key}-t").text = title
        self.add(self.root, "desc", id=f"{key}-d").text = description

    def add(self, parent: ET.Element, tag: str, **attributes: str) -> ET.Element:
        """One more element; a trailing underscore of a name is left out, others stand for hyphens."""
        named = {name.rstrip("_").replace("_", "-"): value for name, value in attributes.items()}
        return ET.SubElement(parent, tag, named)

    def markup(self) -> str:
        """The drawing as text."""
        return ET.tostring(self.root, encoding="unicode")

    def path(self, kind: str, d: str) -> None:
        """A stroke in the picture's units."""
        self.add(self.root, "path", class_=kind, d=d)

    def label(self, x: float, y: float, words: str, kind: str, anchor: str = "", dy: str = ".35em") -> None:
        """Words at a point; what stands in [brackets] is left out where there is little room."""
        text = self.add(self.root, "text", class_=kind, x=number(x), y=number(y), dy=dy)
        if anchor:
            text.set("text-anchor", anchor)
        text.text, *more = words.split("[")
        for part in more:
            inside, _, after = part.partition("]")
            tspan = self.add(text, "tspan", class_="yp-more")
            tspan.text, tspan.tail = inside, after

    def textures(self, looks: Iterable[str]) -> None:
        """Patterns that stay upright and square although the plot is stretched."""
        defs = ET.SubElement(self.root, "defs")
        back = f"scale({1 / self.frame.across:.5g} {-1 / self.frame.up:.5g})"
        for look in looks:
            size, marks = LOOKS[look]
            square = {"width": number(size), "height": number(size)}
            pattern = self.add(defs, "pattern", id=f"{self.key}-{look}", **square)
            pattern.set("patternUnits", "userSpaceOnUse")
            pattern.set("patternTransform", back)
            self.add(pattern, "rect", class_=f"yp-{look}", **square)
            if marks:
                self.add(pattern, "path", class_=f"yp-{look}-marks", d=marks)

    def plot(self) -> ET.Element:
        """The ground, and a group in which x is days and y minutes."""
        frame = self.frame
        edges = {"x": number(LEFT), "y": number(frame.top)}
        size = {"width": number(PLOT_WIDTH), "height": number(frame.height)}
        self.add(self.root, "rect", class_="yp-dark", **edges, **size)
        return self.add(self.root, "g", transform=f"translate({LEFT} {number(frame.bottom)}) {scaled(frame)}")

    def light(self, plot: ET.Element, site: SiteYear) -> None:
        """When the sun is up, on the ground of darkness."""
        if self.sun == self.key:
            defs = ET.SubElement(plot, "defs")
            self.add(defs, "path", class_="yp-still", id=f"{self.key}-sun", d=_light(site))
        self.add(plot, "use", class_="yp-light", href=f"#{self.sun}-sun")

    def paint(self, plot: ET.Element, pieces: Sequence[Piece]) -> None:
        """What the circuit does, a path for each texture."""
        for look, spans in _by_look(pieces).items():
            self.add(plot, "path", fill=f"url(#{self.key}-{look})", d=areas(spans))

    def sunlines(self, plot: ET.Element) -> None:
        """Sunrise and sunset: the light's outline, without the plot's rim, where it is only cut off."""
        day, minute = 1 / self.frame.across, 1 / self.frame.up
        right, top = self.frame.days - day, MINUTES - minute
        clip = self.add(plot, "clipPath", id=f"{self.key}-in")
        self.add(clip, "path", d=f"M{day:.4g} {minute:.4g}H{right:.6g}V{top:.6g}H{day:.4g}z")
        group = self.add(plot, "g", clip_path=f"url(#{self.key}-in)")
        self.add(group, "use", class_="yp-line yp-sun", href=f"#{self.sun}-sun")

    def dashes(self, plot: ET.Element, site: SiteYear, names: Iterable[str]) -> None:
        """A stroke across each date at its opening, its closing and the edges of its night window."""
        for name in names:
            if site.lines.get(name):
                kind = "yp-line yp-night" if name.startswith("night") else "yp-line yp-hours"
                self.add(plot, "path", class_=kind, d=_dashes(site, name))

    def hand(self) -> None:
        """The line that the script moves to the date that is pointed at."""
        self.path("yp-hand", f"M{LEFT} {number(self.frame.top)}V{number(self.frame.bottom)}")


def swatch(key: str, look: str, frame: Frame) -> str:
    """A small field of a drawing's texture, for its key."""
    root = ET.Element("svg", {"class": "yp-swatch", "viewBox": "0 0 26 13", "aria-hidden": "true"})
    group = ET.SubElement(root, "g", {"transform": f"translate(0 13) {scaled(frame)}"})
    size = {"width": f"{26 / frame.across:.4g}", "height": f"{13 / frame.up:.4g}"}
    ET.SubElement(group, "rect", {**size, "fill": f"url(#{key}-{look})"})
    return ET.tostring(root, encoding="unicode")


def scaled(frame: Frame) -> str:
    """From days and minutes, which go up, to units, which go down."""
    return f"scale({frame.across:.5g} {-frame.up:.5g})"


def looks(pieces: Iterable[Piece]) -> list[str]:
    """The textures of these pieces, in the order in which they are painted."""
    used = {piece.paint for piece in pieces}
    return list(dict.fromkeys(PAINTS[paint].look for paint in PAINTS if paint in used))


def number(value: float) -> str:
    """A measure to a tenth of a unit."""
    return f"{value:.1f}".rstrip("0").rstrip(".")


def _by_look(pieces: Sequence[Piece]) -> dict[str, list[Span]]:
    """The spans of each texture; what goes on in the same texture is one."""
    found: dict[str, list[Span]] = {look: [] for look in looks(pieces)}
    for day, paint, _, start, end in pieces:
        spans = found[PAINTS[paint].look]
        if spans and spans[-1][0] == day and spans[-1][2] == start:
            start = spans.pop()[1]
        spans.append((day, start, end))
    return found


@lru_cache(maxsize=32)  # the circuits of a site have it in common
def _light(site: SiteYear) -> str:
    return areas(site.light)


@lru_cache(maxsize=128)
def _dashes(site: SiteYear, line: str) -> str:
    return dashes(site.lines[line])
