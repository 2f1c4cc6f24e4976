"""Pictures on site pages: one for all circuits of a program that look alike, drawn page by page."""

from collections.abc import Iterator, Mapping, Sequence

from auditor.picture import Picture, pictures
from auditor.report.rows import Row, by_key
from auditor.store import Connection

AT_ONCE = 25  # sites whose pictures are drawn together: queries cost less so, and memory stays small
_WALKED = ("parking", "walkway", "canopy", "egress")
_LIT_BY_DAY = ("interior", "egress", "security")


def with_pictures(connection: Connection, sites: Sequence[Row]) -> Iterator[Row]:
    """The sites, each program with ``looks``: a picture, and the circuits that it is the picture of.

    Drawn is where somebody will look: at sites with an open finding. Elsewhere the picture is None.
    """
    for first in range(0, len(sites), AT_ONCE):
        some = sites[first : first + AT_ONCE]
        looks = {id(program): _looks(program) for site in some for program in site["programs"]}
        flagged = [program for site in some if site["open"] for program in site["programs"]]
        wanted = [same[0]["circuit_id"] for program in flagged for same in looks[id(program)]]
        drawn = pictures(connection, wanted)
        for site in some:
            yield site | {"programs": [_illustrated(row, looks[id(row)], drawn) for row in site["programs"]]}


def _illustrated(program: Row, looks: list[list[Row]], drawn: Mapping[str, Picture]) -> Row:
    views = [{"circuits": same, "picture": drawn.get(same[0]["circuit_id"])} for same in looks]
    return program | {"looks": views}


def _looks(program: Row) -> list[list[Row]]:
    """Circuits of one program that do the same at the same times, and of which the same is said."""
    return list(by_key(program["circuits"], _look).values())


def _look(circuit: Row) -> tuple[bool, bool, bool, str]:
    area, duty = circuit["area"], circuit["must_be_lit"] or ""
    return area == "interior", area in _WALKED, area in _LIT_BY_DAY or duty == "always", duty
