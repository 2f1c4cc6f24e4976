"""Names that hint at light that must stay: one list of words for what is judged and for what is tested."""

import pytest

from .conftest import run_audit, small, write_folder
from .pack_case import pack

KEPT = [
    "Upstairs landing", "Security desk", "Emerg. corridor", "EM lighting", "Way out", "Fire route",
    "Safety lighting", "Notlicht Treppenhaus", "Escalier B", "Salida norte",
    "Patient ward 2", "Treatment rooms",
]  # fmt: skip
FREE = ["Reading room", "Existing shelves", "Gems cabinet", "Steward's office", "Shop window"]


@pytest.fixture(scope="module")
def facts(tmp_path_factory: pytest.TempPathFactory) -> dict[str, dict[str, object]]:
    """Circuits with these names, always on, by the facts of their site's pack."""
    folder, given = tmp_path_factory.mktemp("kept"), small()
    names = KEPT + FREE
    given["circuits"] = [
        {"circuit_id": f"c{place}", "controller_id": "01A", "area": "interior", "name": name, "hold": "on"}
        for place, name in enumerate(names)
    ]
    given["events"] = given["events"][-1:]  # of the other device
    given["sensors"] = [{"sensor_id": "p", "controller_id": "02A", "kind": "photocontrol"}]
    store = folder / "kept.duckdb"
    run_audit(write_folder(folder / "in", given), folder / "out", store, days=10, pages=0)
    return {"names": dict(enumerate(names)), **pack(store, folder / "pack", ["01"], edition="iecc-2021")}


def outcomes(facts: dict[str, dict[str, object]], item: str) -> dict[str, str]:
    """Outcomes of an item by the names of its circuits."""
    (found,) = [one for one in facts["01"]["items"] if one["item"] == item]
    return {
        facts["names"][int(key[1:])]: row["outcome"]
        for row in found["rows"]
        for key in row["subject_ids"]
        if key[0] == "c"
    }


def test_what_hints_at_a_way_out_at_security_or_at_care_is_never_contrary(
    facts: dict[str, dict[str, object]],
) -> None:
    said = outcomes(facts, "interior-shutoff")
    assert {name: said[name] for name in KEPT} == dict.fromkeys(KEPT, "insufficient data")
    assert {name: said[name] for name in FREE} == dict.fromkeys(FREE, "contrary")


def test_just_these_stay_lit_while_the_device_is_tested(facts: dict[str, dict[str, object]]) -> None:
    told = {facts["names"][int(row["circuit_id"][1:])] for row in facts["01"]["must_stay_lit"]}
    assert told == set(KEPT)
