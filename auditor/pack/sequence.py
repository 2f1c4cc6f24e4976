"""The sequence of operation: each line of a program with the rows that it tells, and whose sun it goes by."""

from collections.abc import Iterable, Sequence

from auditor.report.programs import Part, programs
from auditor.report.rows import Groups, Row
from auditor.wording import length_text

Told = Sequence[tuple[Part, Row]]  # one line of a program, from each of the circuits that run it
_EVENTS = {"sunrise": "sunrise", "dawn": "sunrise", "sunset": "sunset", "dusk": "sunset"}


def sequence(circuits: Sequence[Row], shelves: dict[str, Groups]) -> list[Row]:
    """The programs in plain sentences, told once where several circuits of a device run the same.

    Each line has its ``rows`` of the input (the id is that of the step, sensor or circuit), and in ``sun``
    how far the sun that its device computes is off.
    """
    return [
        {"controller_id": told["controller_id"], "hold": told["hold"]}
        | {"circuits": [row["circuit_id"] for row in told["circuits"]]}
        | {"lines": _lines(told, shelves["sun"].get(told["controller_id"], []))}
        for told in programs(circuits, shelves["sensors"], shelves["steps"])
    ]


def _lines(program: Row, sun: Sequence[Row]) -> list[Row]:
    """Circuits that run the same may do so by steps of their own: each line has the rows of all of them."""
    places: list[Told] = [
        [(row["parts"][place], row) for row in program["circuits"]] for place in range(len(program["lines"]))
    ]
    return [
        {"sentence": line, "rows": _rows(found)}
        | {"sun": sun_words(row for row in sun if row["kind"] in _sun_events(found))}
        for line, found in zip(program["lines"], places, strict=True)
    ]


def _rows(found: Told) -> list[Row]:
    """The rows behind a line, each once: its steps and its sensor, else the circuit that has none."""
    rows = {}
    for part, circuit in found:
        named = [("events", step["event_id"], step) for step in part.steps]
        named += [("sensors", part.sensor["sensor_id"], part.sensor)] if part.sensor else []
        for table, key, row in named or [("circuits", circuit["circuit_id"], circuit)]:
            rows[table, row["source_file"], row["source_row"]] = key
    return [
        {"table": table, "id": key, "file": file, "row": number}
        for (table, file, number), key in sorted(rows.items())
    ]


def _sun_events(found: Told) -> set[str]:
    return {_EVENTS[step["anchor"]] for part, _ in found for step in part.steps if step["anchor"] in _EVENTS}


def sun_words(shifts: Iterable[Row]) -> str | None:
    """Whose sun a device goes by, where it is not that of the site; None where it is."""
    told = [f"{row['kind']} is {length_text(row['off_s'])} {row['way']}" for row in shifts]
    return f"By the location set in the device {' and '.join(told)} (median of the dates)." if told else None
