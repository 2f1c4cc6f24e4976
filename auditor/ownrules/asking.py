"""Asks a rule's query in a process of its own, and stops it when its time is up."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

from auditor.errors import UserError
from auditor.model import Rule
from auditor.rules import COLUMNS
from auditor.wording import short

_SANDBOX = Path(__file__).with_name("sandbox.py")
_LOOK = 60  # seconds; it takes a tenth of one
_KINDS = {"minutes": "number", "kwh": "number", "first_date": "date", "last_date": "date"}


def look(rule: Rule) -> None:
    """Raises UserError where the rule's query is none that may run, whatever the store holds."""
    ask(None, rule, {}, _LOOK, 0)


def ask(store: Path | None, rule: Rule, params: dict[str, Any], seconds: int, most: int) -> list[list[Any]]:
    """What the rule's query answers on a copy of the store: rows of plain values, ``most`` and one at most.

    Without a store it is looked at and not run. Raises UserError where it gives no answer of the right shape.
    The query's text is never looked at here.
    """
    request = {
        "store": store and str(store),
        "sql": rule.sql,
        "params": params,
        "columns": {name: _KINDS.get(name, "text") for name in COLUMNS},
        "seconds": seconds,
        "most": most,
    }
    answer = _answer(rule, json.dumps(request), seconds)
    if "error" in answer:
        raise UserError(f"{rule.path.name}: {_sentence(answer['error'], answer.get('why', ''))}.")
    rows: list[list[Any]] = answer["rows"]
    return rows


def _answer(rule: Rule, request: str, seconds: int) -> dict[str, Any]:
    command = [
        sys.executable,
        "-P",
        str(_SANDBOX),
    ]  # -P: our rooms must not be taken for other people's modules
    try:
        done = subprocess.run(command, input=request, capture_output=True, encoding="utf-8", timeout=seconds)
    except subprocess.TimeoutExpired as error:
        more = "ask it for less, or give it longer with --rule-seconds"
        raise UserError(f"{rule.path.name}: its query was stopped after {seconds} s; {more}.") from error
    if done.returncode < 0:  # ended by the system
        return {"error": "ended"}
    if done.returncode:
        raise RuntimeError(done.stderr)
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def _sentence(error: str, why: str) -> str:
    first = short((why.splitlines() or [""])[0].rstrip("."), 200)
    match error:
        case "statement":
            return "it must hold one SELECT and nothing else"
        case "columns":
            return why
        case "unsteady":
            instead = "for a date, take newest_read_at_utc from the table period"
            return f"the answer of {first} may change from run to run or with the machine; {instead}"
        case "OutOfMemoryException" | "MemoryError":
            return "its query needs more than the 1 GB of memory that a rule may take; join or collect less"
        case "ended" | "RecursionError":
            return "its query brought the engine down; write it more simply, and join or collect less"
        case "PermissionException":
            return f"its query reaches beyond the store, and a rule may read nothing else ({first})"
    return f"its query does not run ({first}); mend it, and try it with auditor rules --rules"
