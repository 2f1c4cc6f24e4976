"""Numbers as exports write them, counted exactly."""

import re
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
        raise ValueError(f"is not a number{hint}")
    return Decimal(bare)


def in_unit(cell: str, share: tuple[int, int], decimal: str, thousands: str) -> str:
    """A number in another unit, of which one is the fraction ``share`` of the contract's."""
    exact = Fraction(number(cell, decimal, thousands)) * Fraction(*share)
    value = Decimal(exact.numerator) / Decimal(exact.denominator)
    return plain(value if Fraction(value) == exact else value.quantize(_PLACES))


def plain(value: Decimal) -> str:
    """Its digits, without an exponent or zeros at the end."""
    text = f"{value:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
