"""Pictures on site pages: one for all circuits of a program that look alike, drawn page by page."""

from collections.abc import Iterator, Sequence

from auditor.picture import Picture, pictures_in_turn
from auditor.report.rows import Row, by_key
from auditor.store import Connection

_WALKED = ("parking", "walkway", "canopy", "egress")
_LIT_BY_DAY = ("interior", "egress", "security")


def with_pictures(connection: Connection, sites: Sequence[Row]) -> Iterator[Row]:
    """The sites, each program with ``looks``: a picture, and the circuits that it is the picture of.

    Drawn is where somebody will look: at sites with an open finding. Elsewhere the picture is None.
    """
    looks = {id(program): _looks(program) for site in sites for program in site["programs"]}
    flagged = [program for site in sites if site["open"] for program in site["programs"]]
    drawn = _InTurn(connection, [same[0]["circuit_id"] for row in flagged for same in looks[id(row)]])
    for site in sites:
        yield site | {"programs": [_illustrated(row, looks[id(row)], drawn) for row in site["programs"]]}


class _InTurn:
    """Pictures of circuits, which are asked for in this order; of all others there is none."""

    def __init__(self, connection: Connection, circuit_ids: Sequence[str]) -> None:
        self.drawn = pictures_in_turn(connection, circuit_ids)
        self.next = next(self.drawn, None)

    def __call__(self, circuit_id: str) -> Picture | None:
        picture = self.next
        if picture is None or picture.circuit_id != circuit_id:
            return None
        self.next = next(self.drawn, None)
        return picture


def _illustrated(program: Row, looks: list[list[Row]], drawn: _InTurn) -> Row:
    return program | {
        "looks": [{"circuits": same, "picture": drawn(same[0]["circuit_id"])} for same in looks]
    }


def _looks(program: Row) -> list[list[Row]]:
    """Circuits of one program that do the same at the same times, and of which the same is said."""
    return list(by_key(program["circuits"], _look).values())


def _look(circuit: Row) -> tuple[bool, bool, bool, str]:
    area, duty = circuit["area"], circuit["must_be_lit"] or ""
    return area == "interior", area in _WALKED, area in _LIT_BY_DAY or duty == "always", duty
