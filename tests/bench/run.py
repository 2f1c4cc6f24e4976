"""Speed of ``auditor run`` on made-up fleets, and of a minute grid beside it, as Markdown tables.

python -m tests.bench.run [--sites 100 1000 2000] [--repeats 3] [--peer 12] [--stages 100 1000]

Each run is a child process of its own, and its peak memory what the system says of that process. Told is the
median of the repeats, printed and in ``tests/bench/results``, a file a day. Nothing here is a test: a busy
machine makes every figure worse.
"""

import argparse
import csv
import json
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from datetime import date
from importlib.metadata import version
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from tests.bench.fleet import CIRCUITS, write_fleet

FIRST, DAYS = "2026-11-01", 365
COMMAND = [sys.executable, "-c", "from auditor.cli import main; main()"]
RESULTS = Path(__file__).parent / "results"
MAXRSS_UNIT = 1 if sys.platform == "darwin" else 1024  # bytes; see getrusage(2)


@dataclass(frozen=True)
class Cost:
    """What one run took: seconds of the clock, seconds of processor, bytes at the peak."""

    wall_s: float
    cpu_s: float
    peak_bytes: int


def main() -> None:
    """Measures and prints."""
    parser = argparse.ArgumentParser(description="Speed of the audit on made-up fleets.")
    parser.add_argument("--sites", type=int, nargs="+", default=[100, 1000, 2000], help="sizes of the fleets")
    parser.add_argument("--repeats", type=int, default=3, help="runs of each fleet")
    parser.add_argument("--peer", type=int, default=12, help="sites for the minute grid; 0: none")
    parser.add_argument("--stages", type=int, nargs="*", default=[100, 1000], help="sizes, stage by stage")
    options = parser.parse_args()
    if options.repeats < 1:
        parser.error("--repeats must be 1 at least")
    if options.peer and not find_spec("pandas"):
        parser.error("the minute grid needs pandas: pip install -e '.[bench]', or give --peer 0")
    tell(f"{machine()}; median of {options.repeats} runs.\n")
    with tempfile.TemporaryDirectory(prefix="auditor-bench-") as scratch:
        sizes = sorted(options.sites)
        costs = {sites: measure(Path(scratch), sites, options.repeats) for sites in sizes}
        print_runs(costs)
        if options.peer:
            compare(Path(scratch), sizes[-1], options.peer, costs[sizes[-1]])
        if options.stages:
            print_stages({sites: stages(Path(scratch), sites) for sites in options.stages})


def tell(line: str) -> None:
    """A line on standard output, and in today's file."""
    print(line)
    RESULTS.mkdir(exist_ok=True)
    with (RESULTS / f"{date.today()}.md").open("a", encoding="utf-8") as file:
        file.write(f"{line}\n")


def stages(scratch: Path, sites: int) -> dict[str, Any]:
    """What ``tests.bench.stages`` says of a fleet of that size."""
    portfolio = scratch / f"fleet-{sites}"
    if not portfolio.exists():
        write_fleet(portfolio, sites)
    asked = [sys.executable, "-m", "tests.bench.stages", str(portfolio), str(scratch / f"staged-{sites}")]
    said = subprocess.run(asked, check=True, capture_output=True, text=True).stdout
    return dict(json.loads(said))


def print_stages(found: dict[int, dict[str, Any]]) -> None:
    """One line a stage, on one thread; then the floor, the sun, and what was written."""
    names = next(iter(found.values()))["seconds"]
    tell("\n| stage, one thread | " + " | ".join(f"{sites:,} sites, s" for sites in found) + " |")
    tell("|---|" + "---:|" * len(found))
    rows = {name: [f"{one['seconds'][name]:.2f}" for one in found.values()] for name in names}
    rows["firings, millions"] = [f"{one['firings'] / 1e6:.2f}" for one in found.values()]
    rows["bare sort and window over these"] = [f"{one['floor_s']:.2f}" for one in found.values()]
    rows["sun, µs a place and day"] = [f"{one['sun_day_us']:.1f}" for one in found.values()]
    rows["astral, µs a place and day"] = [f"{one['sun_call_us']:.0f}" for one in found.values()]
    rows["written, MiB"] = [f"{one['bytes'] / 2**20:.0f}" for one in found.values()]
    for name, cells in rows.items():
        tell(f"| {name} | {' | '.join(cells)} |")


def machine() -> str:
    """The machine and the versions that count, in one line."""
    packages = ", ".join(f"{name} {version(name)}" for name in ("duckdb", "polars", "astral"))
    return f"{_processor()}, {os.cpu_count()} cores; Python {platform.python_version()}, {packages}"


def _processor() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
        return next(line.split(":")[1].strip() for line in lines if line.startswith("model name"))
    except (OSError, StopIteration):
        return platform.processor() or platform.machine()


def measure(scratch: Path, sites: int, repeats: int) -> Cost:
    """Medians over some runs on a fleet of that size; its results stay in ``scratch``."""
    portfolio, out = scratch / f"fleet-{sites}", scratch / f"out-{sites}"
    write_fleet(portfolio, sites)
    costs = [run(portfolio, out) for _ in range(repeats)]
    wall_s = statistics.median(cost.wall_s for cost in costs)
    cpu_s = statistics.median(cost.cpu_s for cost in costs)
    return Cost(wall_s, cpu_s, max(cost.peak_bytes for cost in costs))


def run(portfolio: Path, out: Path) -> Cost:
    """One ``auditor run`` as a child process."""
    period = ["--start", FIRST, "--days", str(DAYS)]
    started = time.perf_counter()
    child = subprocess.Popen(
        [*COMMAND, "run", str(portfolio), "--out", str(out), *period],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )
    said = child.stderr.read() if child.stderr else b""
    _, status, used = os.wait4(child.pid, 0)
    wall_s = time.perf_counter() - started
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        sys.exit(f"The run on {portfolio.name} failed: {said.decode()}")
    return Cost(wall_s, used.ru_utime + used.ru_stime, used.ru_maxrss * MAXRSS_UNIT)


def print_runs(costs: dict[int, Cost]) -> None:
    """One line a fleet; milliseconds a site show whether time is linear in sites."""
    tell("| sites | circuits | wall, s | processor, s | peak memory, MiB | wall, ms a site |")
    tell("|---:|---:|---:|---:|---:|---:|")
    for sites, cost in costs.items():
        seconds = f"{cost.wall_s:.1f} | {cost.cpu_s:.1f}"
        memory, each = cost.peak_bytes / 2**20, 1000 * cost.wall_s / sites
        tell(f"| {sites:,} | {CIRCUITS * sites:,} | {seconds} | {memory:.0f} | {each:.1f} |")


def compare(scratch: Path, sites: int, peer: int, cost: Cost) -> None:
    """Runs the minute grid on a few sites, holds its figures against the audit's, and prints the speeds."""
    wall, cpu = (1000 * seconds / (CIRCUITS * sites) for seconds in (cost.wall_s, cost.cpu_s))
    tell("\n| a circuit and year | wall, ms | processor, ms | times the audit's wall | processor |")
    tell("|---|---:|---:|---:|---:|")
    tell(f"| this audit, {sites:,} sites | {wall:.2f} | {cpu:.2f} | 1 | 1 |")
    for share, once in ((False, "circuit"), (True, "site")):
        theirs, grid_wall, grid_cpu = timed_grid(scratch / f"fleet-{sites}", peer, share)
        times = f"{grid_wall / wall:.0f} | {grid_cpu / cpu:.0f}"
        tell(f"| minute grid made once a {once}, {peer} sites | {grid_wall:.0f} | {grid_cpu:.0f} | {times} |")
    apart = differences(scratch / f"out-{sites}" / "circuits.csv", theirs)
    said = f"median {statistics.median(apart):.1f}, at most {max(apart):.1f} minutes a year apart"
    tell(f"\n{len(apart)} figures of {len(theirs)} circuits: {said}.")


def timed_grid(portfolio: Path, sites: int, share: bool) -> tuple[dict[str, dict[str, int]], float, float]:
    """The minute grid's figures, and what it took: milliseconds a circuit by the clock and of processor."""
    from tests.bench.minute_grid import evaluate  # here, so that the audit's runs do not carry pandas

    wall, cpu = time.perf_counter(), time.process_time()
    figures = evaluate(portfolio, sites, FIRST, DAYS, share)
    each = 1000 / len(figures)
    return figures, each * (time.perf_counter() - wall), each * (time.process_time() - cpu)


def differences(circuits_csv: Path, theirs: dict[str, dict[str, int]]) -> list[float]:
    """Minutes by which the grid's figures differ from the audit's; leaves where they contradict each other.

    A grid of minutes is off by up to half a minute at each of the 730 or so crossings of the sun that switch
    a circuit, at random: 30 minutes are beyond chance, as is 0.1 % of a large figure.
    """
    with circuits_csv.open(encoding="utf-8", newline="") as lines:
        ours = {row["circuit_id"]: row for row in csv.DictReader(lines)}
    apart = []
    for circuit_id, figures in theirs.items():
        for name, minutes in figures.items():
            mine = float(ours[circuit_id][name])
            apart.append(abs(mine - minutes))
            if apart[-1] > max(30, 0.001 * mine):
                sys.exit(f"{circuit_id} {name}: {mine} by the audit, {minutes} by the grid")
    return apart


if __name__ == "__main__":
    main()
