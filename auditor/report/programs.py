"""The programs of a site's circuits, told once where several circuits run the same."""

from collections.abc import Sequence

from auditor.report.rows import Groups, Row, by_key
from auditor.wording import program_sentences, short

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
        | {"lines": _lines(row, sensors, steps), "duty": duty_words(row)}
        for row in circuits
    ]
    same = by_key(told, lambda row: (row["controller_id"], row["hold"], *row["lines"]))
    return [
        {"controller_id": key[0], "hold": key[1], "lines": key[2:], "circuits": rows}
        for key, rows in same.items()
    ]


def duty_words(circuit: Row) -> str:
    """A recorded duty to light in words; blank without one."""
    return _DUTIES.get(circuit["must_be_lit"] or "", "")


def _lines(circuit: Row, sensors: Groups, steps: Groups) -> tuple[str, ...]:
    acting = sensors.get(circuit["circuit_id"], [])
    own = program_sentences(steps.get((False, circuit["circuit_id"]), []))
    return (
        *(own or [_without_steps(circuit, acting)]),
        *(_sensor_line(circuit, row, steps) for row in acting),
    )


def _without_steps(circuit: Row, acting: Sequence[Row]) -> str:
    if circuit["combine"] == "all":
        return "No steps of its own: on, as far as its sensors allow."
    return f"No steps of its own{': only its sensors act' if acting else ''}."


def _sensor_line(circuit: Row, sensor: Row, steps: Groups) -> str:
    kind = {"photocontrol": "Photocontrol", "occupancy": "Occupancy sensor"}[sensor["kind"]]
    role = _SENSORS[sensor["kind"], circuit["combine"]]
    suspended = " ".join(program_sentences(steps.get((True, sensor["sensor_id"]), [])))
    service = suspended or "Always in service."
    return f"{kind} {sensor['sensor_id']}, {role}. {service}"
