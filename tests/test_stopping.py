"""Ctrl-C and SIGTERM: a sentence, an exit status, and nothing half there."""

import os
import signal
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from auditor import audit, stopping
from auditor.stopping import SAID, Stopped, listen, undisturbed
from auditor.visits.distances import Roads
from auditor.visits.exact import best_routes, solver_at_hand
from auditor.visits.problem import Candidate, Problem

from .conftest import Console, run_audit, small, write_folder
from .knocks_case import Hit, drafts, end, is_of_one_run, results, start

SIGNALS = [(signal.SIGINT, 130), (signal.SIGTERM, 143)]  # 128 and the number, as shells have it


@pytest.fixture
def listening() -> Iterator[None]:
    """Signals in this process do what they do in a command."""
    before = {number: signal.getsignal(number) for number, _ in SIGNALS}
    listen()
    yield
    for number, handler in before.items():
        signal.signal(number, handler)
    stopping._State.asked = 0


# A command -------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, bytes], bytes]:
    """A portfolio, and results and store of a first run of it."""
    folder = tmp_path_factory.mktemp("first")
    source = write_folder(folder / "portfolio", small())
    run_audit(source, folder / "out", folder / "audit.duckdb", days=6)
    return source, results(folder / "out"), (folder / "audit.duckdb").read_bytes()


def stopped(first: tuple[Path, dict[str, bytes], bytes], folder: Path, hit: Hit) -> tuple[int, str]:
    """What a second run says that is hit there; afterwards there are no drafts and no scratch."""
    source, old, store = first
    for name, content in old.items():
        (folder / "out" / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / "out" / name).write_bytes(content)
    (folder / "audit.duckdb").write_bytes(store)
    words = ["run", source, "--out", folder / "out", "--days", 7, "--store", folder / "audit.duckdb"]
    told = end(start(words, folder / "tmp", hit))
    assert drafts(folder, folder / "out") == []
    assert list((folder / "tmp").iterdir()) == []
    return told


@pytest.mark.parametrize(("number", "status"), SIGNALS)
def test_a_signal_ends_a_run_with_a_sentence_and_all_as_it_was(
    first: tuple[Path, dict[str, bytes], bytes], tmp_path: Path, number: int, status: int
) -> None:
    assert stopped(first, tmp_path, Hit(5, "os.rename", number)) == (status, f"{SAID}\n")
    assert results(tmp_path / "out") == first[1]
    assert (tmp_path / "audit.duckdb").read_bytes() == first[2]


@pytest.mark.parametrize(("number", "status"), SIGNALS)
def test_a_signal_while_the_program_is_still_being_loaded_gives_no_trace(
    tmp_path: Path, number: int, status: int
) -> None:
    hit = Hit(1, "import duckdb", number)
    assert end(start(["--version"], tmp_path / "tmp", hit)) == (status, f"{SAID}\n")


def test_a_signal_waits_while_results_are_put_in_place(
    first: tuple[Path, dict[str, bytes], bytes], tmp_path: Path
) -> None:
    last = "os.rename " + str(tmp_path / "out/.run.json.part/room/circuits.csv")
    assert stopped(first, tmp_path, Hit(1, last, signal.SIGTERM)) == (143, f"{SAID}\n")
    assert is_of_one_run(tmp_path / "out")
    assert results(tmp_path / "out")["run.json"] != first[1]["run.json"]


def test_a_signal_waits_while_the_store_takes_its_place_which_is_after_the_results(
    first: tuple[Path, dict[str, bytes], bytes], tmp_path: Path
) -> None:
    last = "os.rename " + str(tmp_path / ".audit.duckdb.part/room/audit.duckdb")
    assert stopped(first, tmp_path, Hit(1, last, signal.SIGTERM)) == (143, f"{SAID}\n")
    assert (tmp_path / "audit.duckdb").read_bytes() != first[2]
    assert is_of_one_run(tmp_path / "out")
    assert results(tmp_path / "out")["run.json"] != first[1]["run.json"]


# In this process -------------------------------------------------------------------------------------------


def test_what_the_engine_makes_of_a_signal_is_no_fault(
    console: Callable[..., Console], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """DuckDB 2.0 answers an interrupted query with a RuntimeError, whatever the handler raised."""

    def interrupted(*_: object) -> None:
        monkeypatch.setattr(stopping._State, "asked", signal.SIGTERM)
        raise RuntimeError("Query interrupted")

    monkeypatch.setattr(audit, "audit", interrupted)
    assert console("run", tmp_path, "--out", tmp_path / "out") == (143, "", f"{SAID}\n")


@pytest.mark.usefixtures("listening")
def test_what_must_not_end_in_the_middle_ends_after_it() -> None:
    done = []
    with pytest.raises(Stopped), undisturbed():
        os.kill(os.getpid(), signal.SIGTERM)
        done.append("all of it")
    assert done == ["all of it"]


@pytest.mark.usefixtures("listening")
def test_a_fault_meanwhile_is_told_and_the_next_signal_heard() -> None:
    with pytest.raises(ValueError, match="a fault"), undisturbed():
        raise ValueError("a fault")
    with pytest.raises(Stopped):
        os.kill(os.getpid(), signal.SIGINT)


def test_a_second_signal_ends_it_at_once(tmp_path: Path) -> None:
    program = """
from auditor.stopping import listen
listen()
try:
    os.kill(os.getpid(), signal.SIGINT)
finally:
    os.kill(os.getpid(), signal.SIGTERM)
    print("still here", file=sys.stderr)
"""
    assert end(start([], tmp_path / "tmp", Hit(1, "no such"), program)) == (-signal.SIGTERM, "")


def test_a_command_in_the_background_goes_on_ignoring_what_it_ignores() -> None:
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        listen()
        assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGINT, before)
        signal.signal(signal.SIGTERM, signal.SIG_DFL)


@pytest.mark.usefixtures("listening")
def test_the_solver_leaves_ctrl_c_to_us(monkeypatch: pytest.MonkeyPatch) -> None:
    """It would else end its search, and the plan would be a worse one that looks like any other."""
    cp = solver_at_hand()
    solve = cp.CpSolver.solve

    class Presses(cp.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            os.kill(os.getpid(), signal.SIGINT)

    monkeypatch.setattr(cp.CpSolver, "solve", lambda self, model: solve(self, model, Presses()))
    problem = Problem([Candidate((52.0, 5.0), 60, True, 100)], [None], 480, Roads(1.3, 50))
    with pytest.raises(Stopped):
        best_routes(problem, [None], [0], [()], 1.0)
