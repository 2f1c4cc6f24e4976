"""The programs of a site's circuits, told once where several circuits run the same."""

from collections.abc import Sequence
from dataclasses import dataclass

from auditor.report.rows import Groups, Row, by_key
from auditor.wording import program_parts, program_sentences, short


@dataclass(frozen=True)
class Part:
    """A line of a program, with the steps that it tells and the sensor that it is about."""

    line: str
    steps: Sequence[Row]
    sensor: Row | None = None


_DUTIES = {
    "always": "at all times",
    "dark": "whenever it is dark",
    "open": "while it is dark and the site is open",
}
_SENSORS = {
    ("photocontrol", "any"): "in parallel: calls for light whenever it is dark",
    ("photocontrol", "all"): "in series: keeps the circuit off until it is dark",
    ("occupancy", "any"): "in parallel: where the program is off, on only if somebody is there",
    ("occupancy", "all"): "in series: where the program is on, on only if somebody is there",
}


def programs(circuits: Sequence[Row], sensors: Groups, steps: Groups) -> list[Row]:
    """Each program with the circuits of one device that run it.

    ``sensors`` are the sensors in use by circuit_id; ``steps`` the steps by (for_sensor, target).
    """
    told = [
        row
        | {"label": short(row["name"] or row["circuit_id"])}
        | {"parts": _parts(row, sensors, steps), "duty": duty_words(row)}
        for row in circuits
    ]
    same = by_key(
        told, lambda row: (row["controller_id"], row["hold"], *(part.line for part in row["parts"]))
    )
    return [
        {"controller_id": key[0], "hold": key[1], "lines": key[2:], "circuits": rows}
        for key, rows in same.items()
    ]


def duty_words(circuit: Row) -> str:
    """A recorded duty to light in words; blank without one."""
    return _DUTIES.get(circuit["must_be_lit"] or "", "")


def _parts(circuit: Row, sensors: Groups, steps: Groups) -> tuple[Part, ...]:
    acting = sensors.get(circuit["circuit_id"], [])
    own = program_parts(steps.get((False, circuit["circuit_id"]), []))
    return (
        *(Part(sentence, told) for sentence, told in own),
        *(() if own else [Part(_without_steps(circuit, acting), [])]),
        *(_sensor_part(circuit, row, steps) for row in acting),
    )


def _without_steps(circuit: Row, acting: Sequence[Row]) -> str:
    if circuit["combine"] == "all":
        return "No steps of its own: on, as far as its sensors allow."
    return f"No steps of its own{': only its sensors act' if acting else ''}."


def _sensor_part(circuit: Row, sensor: Row, steps: Groups) -> Part:
    kind = {"photocontrol": "Photocontrol", "occupancy": "Occupancy sensor"}[sensor["kind"]]
    role = _SENSORS[sensor["kind"], circuit["combine"]]
    own = steps.get((True, sensor["sensor_id"]), [])
    service = " ".join(program_sentences(own)) or "Always in service."
    return Part(f"{kind} {sensor['sensor_id']}, {role}. {service}", own, sensor)
