"""A folder of rule files to rules; what is asked of a user's own beyond what is asked of every rule."""

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from auditor.errors import UserError
from auditor.letters import printable
from auditor.model import Rule
from auditor.ownrules.asking import look
from auditor.rules import in_order, read_rule
from auditor.wording import nearest


def own_rules(folder: Path, built_in: Sequence[Rule]) -> list[Rule]:
    """The rules of the folder's ``.sql`` files, in the order in which they run.

    Raises UserError where a file is not a rule, or not one that can stand beside the built-in ones.
    """
    paths = sorted(path for path in folder.glob("*.sql") if not path.name.startswith("."))
    if not paths:
        raise UserError(f"{folder} holds no rule; put a file NAME.sql there, or leave --rules out.")
    rules = [replace(read_rule(path), own=True) for path in paths]
    taken = [rule.name for rule in built_in]
    for rule in rules:
        for wrong in _faults(rule, taken, [*taken, *(other.name for other in rules)]):
            raise UserError(f"{rule.path.name}: {wrong}.")
        look(rule)  # now, not when the year has been worked out
    return in_order(rules)


def _faults(rule: Rule, taken: Sequence[str], known: Sequence[str]) -> Iterator[str]:
    if not re.fullmatch("[a-z0-9]+(-[a-z0-9]+)*", rule.name):
        yield 'a name is small letters, digits and "-"; rename the file and the name in its header'
    if rule.name in taken:
        yield "a built-in rule has this name; rename the file and the name in its header"
    for name in rule.after:
        if name not in known:
            yield f'it runs after "{name}", and there is no such rule; did you mean "{nearest(name, known)}"'
    if not rule.prose:
        yield 'it has no prose; say behind "--" what goes wrong, why it matters and how to check it on site'
    if not rule.sql:
        yield "it has no query; write one SELECT below the prose"
    if any(line != printable(line) for line in rule.sql.replace("\t", " ").splitlines()):
        yield "its query holds a letter that cannot be seen; write it as chr() of its number"
