"""Numbers as exports write them, counted exactly."""

import re
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

_PLACES = Decimal("1e-9")  # beyond them no unit of the contract is told apart


def number(cell: str, decimal: str = ".", thousands: str = "") -> Decimal:
    """A decimal number; ValueError says which key of the map to set."""
    bare = cell.replace(thousands, "") if thousands else cell
    if decimal != ".":
        if "." in bare:
            raise ValueError(
                f'has a point beside decimal = "{decimal}"; if it parts thousands, set thousands = "."'
            )
        bare = bare.replace(decimal, ".", 1)
    if not re.fullmatch(r"[+-]?(\d{1,20}\.?\d{0,20}|\.\d{1,20})([eE][+-]?\d{1,2})?", bare, re.ASCII):
        hint = '; is the comma its decimal point? Then set decimal = "," in [source]' if "," in bare else ""
        if re.search(r"\d\s*[^\W\d]", bare):
            hint = "; what stands behind it is not understood"
            hint += ', and split = " ", part = 1 would take it off' if " " in bare else ""
        raise ValueError(f"is not a number{hint}")
    return Decimal(bare)


def unit_stated(cell: str, known: Mapping[str, tuple[int, int]]) -> tuple[str, str | None]:
    """A number and the unit behind it, of those ``known``; None where none stands there, or another word.

    Capitals do not matter but for MW and for what begins with m: milli, metres and minutes are at hand.
    """
    match = re.fullmatch(r"(.*[\d.,])\s*([A-Za-z][A-Za-z0-9]*)", cell, re.ASCII)
    if not match:
        return cell, None
    said = match[2]
    same = [name for name in known if name == said]
    same += [name for name in known if name.casefold() == said.casefold() and name[0] not in "mM"]
    return (match[1], same[0]) if same else (cell, None)


def in_unit(cell: str, share: tuple[int, int], decimal: str, thousands: str) -> str:
    """A number in another unit, of which one is the fraction ``share`` of the contract's."""
    exact = Fraction(number(cell, decimal, thousands)) * Fraction(*share)
    value = Decimal(exact.numerator) / Decimal(exact.denominator)
    return plain(value if Fraction(value) == exact else value.quantize(_PLACES))


def plain(value: Decimal) -> str:
    """Its digits, without an exponent or zeros at the end."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
