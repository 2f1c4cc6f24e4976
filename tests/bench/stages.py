"""Where the time of an audit goes: ``python -m tests.bench.stages PORTFOLIO OUT`` prints it as JSON.

On one thread, so that seconds of a stage add up to those of the whole. Beside it, in the same process: the
floor, a bare sort and window over as many firings, and what astral takes for the sun's crossings one by one.
"""

import json
import sys
import time
from collections import defaultdict
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import duckdb
from astral import Observer
from astral.sun import dawn, dusk, sunrise, sunset

from auditor import audit as program
from auditor import year
from auditor.resources import resource
from auditor.store import Engine

FIRST, DAYS = date(2026, 11, 1), 365
OF_QUERIES = {  # of queries/year, by the beginnings of their names
    "1": "what belongs to a batch", "15": "sun", "2": "sun", "3": "firings", "4": "states",
    "5": "hours, nights, spans", "6": "figures", "7": "into the store",
}  # fmt: skip
OF_CALLS = {
    "read_judged": "read", "fill": "read", "run_right_clocks": "right clocks", "run_rules": "rules",
    "_rank": "rules", "run_script": "rules", "write_tables": "results", "write_workbook": "results",
    "write_report": "report",
}  # fmt: skip
STAGES = tuple(dict.fromkeys(["read", *OF_QUERIES.values(), *OF_CALLS.values(), "all else"]))


class Watch:
    """Seconds of processor by stage, and rows by temporary table."""

    def __init__(self) -> None:
        self.spent: dict[str, float] = defaultdict(float)
        self.firings = self.place_days = 0

    def timed(self, stage: str, call: Callable[..., Any]) -> Callable[..., Any]:
        """The same call, its time counted; what is counted within it is not counted twice."""

        def watched(*given: Any, **named: Any) -> Any:
            before, within = time.process_time(), sum(self.spent.values())
            try:
                return call(*given, **named)
            finally:
                inner = sum(self.spent.values()) - within
                self.spent[stage] += time.process_time() - before - inner

        return watched

    def queries(self, plain: Callable[..., None]) -> Callable[..., None]:
        """``run_script`` of the year, which knows its files by their text."""
        names = {
            path.read_text(encoding="utf-8"): path.name for path in resource("queries/year").glob("*.sql")
        }

        def watched(session: Any, text: str) -> None:
            name = names.get(text, "10")
            stage = OF_QUERIES.get(name[:2], OF_QUERIES[name[0]])
            self.timed(stage, plain)(session, text)
            if name.startswith("30"):
                self.firings += session.execute("SELECT count(*) FROM b_firings").fetchone()[0]
            if name.startswith("20"):
                self.place_days += session.execute("SELECT count(*) FROM b_place_days").fetchone()[0]

        return watched


def main() -> None:
    """Audits, and prints what was seen."""
    portfolio, out = map(Path, sys.argv[1:3])
    watch = Watch()
    year.run_script = watch.queries(year.run_script)
    for name, stage in OF_CALLS.items():
        setattr(program, name, watch.timed(stage, getattr(program, name)))
    before = time.process_time()
    program.audit(portfolio, out, FIRST, DAYS, None, lambda *_: lambda _: None, engine=Engine(threads=1))
    whole = time.process_time() - before
    watch.spent["all else"] = whole - sum(watch.spent.values())
    print(json.dumps({
        "seconds": {stage: watch.spent[stage] for stage in STAGES},
        "bytes": sum(path.stat().st_size for path in out.rglob("*") if path.is_file()),
        "firings": watch.firings,
        "floor_s": floor(watch.firings),
        "sun_day_us": 1e6 * watch.spent["sun"] / watch.place_days,
        "sun_call_us": sun_call(),
    }))  # fmt: skip


def floor(firings: int) -> float:
    """Seconds for a bare sort and window over so many instants of a thousand to a target, in no order."""
    with duckdb.connect() as connection:
        connection.execute("SET threads = 1")
        connection.execute(
            "CREATE TABLE firings AS SELECT (hash(i) % ($n // 1000 + 1))::INTEGER AS target_no, "
            "(hash(i + $n) % 31536000)::BIGINT AS at_s FROM range($n) AS numbers (i)",
            {"n": firings},
        )
        before = time.process_time()
        connection.execute(
            "CREATE TABLE told AS SELECT target_no, at_s, "
            "lead(at_s) OVER (PARTITION BY target_no ORDER BY at_s) AS next_s FROM firings"
        )
        return time.process_time() - before


def sun_call() -> float:
    """Microseconds that astral takes for the four crossings of a day at one place."""
    place, days = Observer(51.5, -0.1, 0), 60
    before = time.process_time()
    for number in range(days):
        for crossing in (dawn, sunrise, sunset, dusk):
            crossing(place, FIRST + timedelta(days=number))
    return 1e6 * (time.process_time() - before) / days


if __name__ == "__main__":
    main()
