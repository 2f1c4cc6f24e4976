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
_TAG = re.compile(r"<[^<>]*>")  # names stand between tags: whatever they say is no reference
# Letters that XML does not know; one would cost the whole drawing.
_NO_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")


def for_printer(picture: Picture) -> Picture:
    """The same picture, each drawing with its own style and with all that it borrows."""
    defined = {first or second: whole for whole, first, second in _definitions(picture.svg)}
    solid = {key: colour_of(name) for key, name in _SOLID.findall(picture.svg)}
    right = picture.right_clock
    if right:
        defined |= {first or second: whole for whole, first, second in _definitions(right.svg)}
        solid |= {key: colour_of(name) for key, name in _SOLID.findall(right.svg)}

    def drawing(svg: str, title: str = "") -> str:
        svg = _TAG.sub(lambda tag: _in_colour(tag[0], solid), svg)
        tags = "".join(_TAG.findall(svg))
        lent = "".join(
            defined[key] for key in sorted(set(_WANTED.findall(tags))) if f'id="{key}"' not in tags
        )
        whole = re.sub(
            r"(<svg[^>]*>)", lambda tag: f"{tag[1]}{title}<style>{_style()}</style><defs>{lent}</defs>", svg
        )
        return _NO_XML.sub("\ufffd", whole)

    def key(lines: tuple[KeyLine, ...]) -> tuple[KeyLine, ...]:
        return tuple(
            replace(line, swatch=drawing(line.swatch, f"<title>{escape(line.words)}</title>"))
            for line in lines
        )

    second = Drawing(right.title, right.description, drawing(right.svg), key(right.key)) if right else None
    return replace(picture, svg=drawing(picture.svg), key=key(picture.key), right_clock=second)


def _in_colour(tag: str, solid: dict[str, str]) -> str:
    """Tiles of one colour would show seams."""
    for key, colour in solid.items():
        tag = tag.replace(f"url(#{key})", colour)
    return tag


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
