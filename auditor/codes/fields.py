"""What a file of codes of one's own may hold: fields, items and their limits, for whoever writes one."""

from collections.abc import Iterator

from auditor.codes import vocabulary as words

_TABLES = {
    "at the top": words.HEAD,
    "[[item]]": words.ITEM,
    "[[item.limit]]": words.LIMIT,
    "[[item.window]], a start and an end": words.WINDOW,
    "[[item.exception]]": words.EXCEPTION,
}
_WIDE = 24


def told_fields() -> str:
    """Every table with its fields, every item with its limits and whether it has windows and areas."""
    tables = ["\n".join([name, *_lines(fields)]) for name, fields in _TABLES.items()]
    items = [
        "Items, and the limits of each (* needed)",
        *(line for key in words.ITEMS for line in _item(key)),
    ]
    areas = f"Areas: {', '.join(words.AREAS)}. Egress and security are judged by no item."
    basis = (
        "A limit, window or exception without mark, confidence and source of its own has those of its item."
    )
    return "\n\n".join([*tables, basis, areas, "\n".join(items)])


def _lines(fields: dict[str, str]) -> Iterator[str]:
    return (f"  {name:{_WIDE}}{meaning}" for name, meaning in fields.items())


def _item(key: str) -> Iterator[str]:
    needs = [
        word for word, keys in (("areas", words.WITH_AREAS), ("windows", words.WITH_WINDOWS)) if key in keys
    ]
    yield f"  {key}{': with ' + ' and '.join(needs) if needs else ''}"
    for name in words.ITEMS[key]:
        kind = words.LIMITS[name]
        star = " *" if name in words.NEEDED_LIMITS.get(key, ()) else ""
        most = f", 0 to {kind.most:.0f}" if kind.most < 1e6 else ""
        measure = f" {kind.measure}" if kind.measure else ""
        yield f"    {name + star:{_WIDE - 2}}{kind.bound}{measure}{most}: {kind.meaning}"
