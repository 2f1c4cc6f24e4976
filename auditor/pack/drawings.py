"""Pictures for a printer that knows a drawing alone: not the style of its page, nor what others define."""

import re
from dataclasses import replace
from functools import cache
from html import escape

from auditor.picture import Drawing, KeyLine, Picture
from auditor.resources import resource

_DEFINED = re.compile(r'<pattern id="([^"]+)".*?</pattern>|<path class="[^"]*" id="([^"]+)"[^>]*/>', re.S)
_WANTED = re.compile(r'(?:url\(|href=")#([^")]+)')
_SOLID = re.compile(r'<pattern id="([^"]+)"[^>]*><rect class="([^"]+)"[^>]*/></pattern>')


def for_printer(picture: Picture) -> Picture:
    """The same picture, each drawing with its own style and with all that it borrows."""
    defined = {first or second: whole for whole, first, second in _definitions(picture.svg)}
    solid = {key: colour_of(name) for key, name in _SOLID.findall(picture.svg)}
    right = picture.right_clock
    if right:
        defined |= {first or second: whole for whole, first, second in _definitions(right.svg)}
        solid |= {key: colour_of(name) for key, name in _SOLID.findall(right.svg)}

    def drawing(svg: str, title: str = "") -> str:
        for key, colour in solid.items():  # tiles of one colour would show seams
            svg = svg.replace(f"url(#{key})", colour)
        lent = "".join(defined[key] for key in sorted(set(_WANTED.findall(svg))) if f'id="{key}"' not in svg)
        return re.sub(
            r"(<svg[^>]*>)", lambda tag: f"{tag[1]}{title}<style>{_style()}</style><defs>{lent}</defs>", svg
        )

    def key(lines: tuple[KeyLine, ...]) -> tuple[KeyLine, ...]:
        return tuple(
            replace(line, swatch=drawing(line.swatch, f"<title>{escape(line.words)}</title>"))
            for line in lines
        )

    second = Drawing(right.title, right.description, drawing(right.svg), key(right.key)) if right else None
    return replace(picture, svg=drawing(picture.svg), key=key(picture.key), right_clock=second)


def _definitions(svg: str) -> list[tuple[str, str, str]]:
    return [(found[0], found[1] or "", found[2] or "") for found in _DEFINED.finditer(svg)]


@cache
def _style() -> str:
    """The style of drawings in light colours, spelled out: no variables and no short forms are known there.

    Nor does it draw outlines below letters; names go without.
    """
    sheet = (resource("reports") / "picture.css").read_text(encoding="utf-8")
    light = re.sub(r"(?s)@media [^{]*\{(?:[^{}]*\{[^{}]*\})*[^{}]*\}", "", sheet)
    colours = dict(re.findall(r"(--yp-[a-z-]+): ([^;]+);", light))
    spelled = re.sub(r"var\((--yp-[a-z-]+)\)", lambda found: colours[found[1]], light)
    spelled = re.sub(r"var\(--[a-z]+, (#[0-9a-f]+)\)", r"\1", spelled)
    rules = re.findall(r"(?m)^(?:\.year-picture )?(?:text|\.yp-)[^{]*\{[^}]*\}", spelled)
    return "text { font-family: sans-serif; font-size: 12px; }" + "".join(
        rule for rule in rules if not rule.startswith(".yp-name")
    )


@cache
def colour_of(name: str) -> str:
    """The colour that a class of drawings fills with."""
    found = re.search(rf"\.{name} \{{ fill: ([^;}}]+)", _style())
    return found[1] if found else "none"
