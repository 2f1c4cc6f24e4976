"""One change at a time in a SQL text, found with the tokeniser of the engine itself."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import duckdb

from .mutant import Mutant, each_once, replaced

_OTHER_SIGNS = {  # the edge moved, then the sense turned
    "<": ("<=", ">="),
    "<=": ("<", ">"),
    ">": (">=", "<="),
    ">=": (">", "<"),
    "=": ("<>",),
    "<>": ("=",),
    "+": ("-",),
    "-": ("+",),
    "*": ("/",),
    "/": ("*",),
    "//": ("*",),
    "<<": (">>",),
    ">>": ("<<",),
    "&": ("|",),
}
_PAIRS = (
    ("sunrise", "sunset"),
    ("dawn", "dusk"),
    ("on", "off"),
    ("open", "closed"),
    ("light", "dark"),
    ("suspend", "resume"),
    ("photocontrol", "occupancy"),
    ("any", "all"),
    ("always", "dark"),  # light stays with dark
    ("clock", "sunset"),
)
_FUNCTION_PAIRS = (
    ("min", "max"),
    ("least", "greatest"),
    ("arg_min", "arg_max"),
    ("lag", "lead"),
    ("bool_or", "bool_and"),
    ("sind", "cosd"),
    ("floor", "ceil"),
    ("culmination", "anticulmination"),
    ("epoch_day", "weekday"),
)
# Of a word in two pairs the first pair counts.
_OTHER_WORDS = {f"'{one}'": f"'{other}'" for pair in _PAIRS[::-1] for one, other in (pair, pair[::-1])}
_OTHER_FUNCTIONS = {one: other for pair in _FUNCTION_PAIRS for one, other in (pair, pair[::-1])}
_OTHER_KEYWORDS = {"OR": "AND", "TRUE": "false", "FALSE": "true", "DESC": "ASC", "ANTI": "SEMI"}
_ENDS = {  # words that end a condition
    *("AND", "OR", "GROUP", "ORDER", "HAVING", "QUALIFY", "WINDOW", "UNION", "JOIN", "LEFT", "ANTI", "ASOF"),
    *("CROSS", "WHERE", "THEN", "ELSE", "END", "SELECT", "AS", "WHEN", "FROM", "ROWS"),
}
# What stands for a condition that is dropped, by the word before it.
_NOTHING_LEFT = dict.fromkeys(("WHERE", "HAVING", "QUALIFY", "ON", "AND"), "true")
_NOTHING_LEFT |= {"OR": "false", "WHEN": "false"}
_MAY_GO = {("SELECT", "DISTINCT"), ("(", "DISTINCT")}
_DEPTH = {"(": 1, "[": 1, "{": 1, "CASE": 1, ")": -1, "]": -1, "}": -1, "END": -1}


@dataclass(frozen=True)
class _Token:
    start: int
    end: int
    kind: str
    text: str

    @property
    def word(self) -> str:
        """As a keyword, a sign or a bracket is known."""
        return self.text.upper() if self.kind in ("keyword", "identifier") else self.text


@dataclass(frozen=True)
class _Source:
    file: str
    text: str
    tokens: list[_Token]

    def put(self, first: int, last: int, new: str) -> Mutant:
        """The mutant with ``new`` in place of the tokens from ``first`` to ``last``."""
        return replaced(self.file, self.text, self.tokens[first].start, self.tokens[last].end, new)

    def word(self, place: int) -> str:
        return self.tokens[place].word if 0 <= place < len(self.tokens) else ""


def sql_mutants(file: str, text: str) -> list[Mutant]:
    """Every mutant of a SQL file; of a rule's header the defaults of its thresholds change, too."""
    source = _Source(file, text, _tokens(text))
    found = [mutant for change in _CHANGES for mutant in change(source)]
    found += [
        replaced(file, text, *match.span(1), f"{float(match[1]) + 1:g}")
        for match in re.finditer(r"^--: params\..* default = ([\d.]+)", text, re.M)
    ]
    return sorted(each_once(found), key=lambda mutant: (mutant.line, mutant.becomes))


def _tokens(text: str) -> list[_Token]:
    """The tokens but for comments. The engine counts in bytes."""
    content = text.encode()
    starts = duckdb.tokenize(text)
    ends = [start for start, _ in starts[1:]] + [len(content)]
    found = []
    for (start, kind), end in zip(starts, ends, strict=True):
        if kind.name != "comment":
            here = len(content[:start].decode())
            word = content[start:end].decode().split("--")[0].rstrip()
            found.append(_Token(here, here + len(word), kind.name, word))
    return found


def _signs(source: _Source) -> Iterator[Mutant]:
    for place, token in enumerate(source.tokens):
        plain = token.text == "*" and source.word(place - 1) in ("SELECT", "(", ",", ".", "*")
        if token.kind == "operator" and not plain:
            yield from (source.put(place, place, new) for new in _OTHER_SIGNS.get(token.text, ()))


def _words(source: _Source) -> Iterator[Mutant]:
    for place, token in enumerate(source.tokens):
        if token.kind == "string_const" and token.text in _OTHER_WORDS:
            yield source.put(place, place, _OTHER_WORDS[token.text])


def _functions(source: _Source) -> Iterator[Mutant]:
    for place, token in enumerate(source.tokens):
        called = source.word(place + 1) == "(" and source.word(place - 1) != "MACRO"
        if called and token.text.lower() in _OTHER_FUNCTIONS:
            yield source.put(place, place, _OTHER_FUNCTIONS[token.text.lower()])


def _numbers(source: _Source) -> Iterator[Mutant]:
    for place, token in enumerate(source.tokens):
        if token.kind == "numeric_const":
            yield source.put(place, place, re.sub(r"^\d+", lambda found: str(int(found[0]) + 1), token.text))


def _keywords(source: _Source) -> Iterator[Mutant]:
    for place, token in enumerate(source.tokens):
        word, before, after = token.word, source.word(place - 1), source.word(place + 1)
        if word in _OTHER_KEYWORDS:
            yield source.put(place, place, _OTHER_KEYWORDS[word])
        elif word == "AND" and not _of_between(source, place):
            yield source.put(place, place, "OR")
        elif (word, after) == ("LEFT", "JOIN") or (before, word) in _MAY_GO or word == "NOT":
            yield source.put(place, place, "")
        elif word == "IS" and after in ("NULL", "DISTINCT"):
            yield source.put(place, place, "IS NOT")


def _of_between(source: _Source, place: int) -> bool:
    """Whether this AND belongs to a BETWEEN."""
    depth = 0
    for before in range(place - 1, -1, -1):
        word = source.word(before)
        depth -= _DEPTH.get(word, 0)
        if depth < 0 or (depth == 0 and word in _ENDS - {"END"}):
            return False
        if depth == 0 and word == "BETWEEN":
            return True
    return False


def _conditions(source: _Source) -> Iterator[Mutant]:
    """Each term of a condition dropped."""
    for place in range(len(source.tokens)):
        word = source.word(place)
        nothing = _NOTHING_LEFT.get(word)
        if word == "(" and source.word(place - 1) == "FILTER":
            nothing = "true"
        if nothing and not (word == "AND" and _of_between(source, place)):
            last = _end(source, place + 1)
            if last > place and source.word(last) not in ("TRUE", "FALSE"):
                yield source.put(place + 1, last, nothing)


def _end(source: _Source, place: int) -> int:
    """The last token of the condition that begins here."""
    depth, between = 0, 0
    while place < len(source.tokens):
        word = source.word(place)
        if depth == 0 and not (between and word == "AND") and _ends(source, place):
            break
        between += (depth == 0) * ((word == "BETWEEN") - (word == "AND"))
        depth += _DEPTH.get(word, 0)
        place += 1
    return place - 1


def _ends(source: _Source, place: int) -> bool:
    """Whether a condition ends before this token, should it stand at the condition's own depth."""
    word = source.word(place)
    return word in (",", ";", ")", "]", "}") or (
        word in _ENDS and (source.word(place - 1), word) != ("DISTINCT", "FROM")
    )


def _lists(source: _Source) -> Iterator[Mutant]:
    """Each text left out of a list of texts."""
    for place, token in enumerate(source.tokens):
        before, after = source.word(place - 1), source.word(place + 1)
        if token.kind == "string_const" and _in_list(source, place):
            if after == ",":
                yield source.put(place, place + 1, "")
            elif before == ",":
                yield source.put(place - 1, place, "")


def _in_list(source: _Source, place: int) -> bool:
    """Whether nothing but texts and commas stands between here and ``IN (`` or ``[``."""
    while source.word(place) == "," or source.tokens[place].kind == "string_const":
        place -= 1
    return source.word(place) == "[" or (source.word(place) == "(" and source.word(place - 1) == "IN")


def _defaults(source: _Source) -> Iterator[Mutant]:
    """``coalesce`` without what stands in for a missing value."""
    for place in range(len(source.tokens)):
        if source.word(place) == "COALESCE" and source.word(place + 1) == "(":
            first_end, close = _end(source, place + 2), place + 2
            while source.word(_end(source, close) + 1) == ",":
                close = _end(source, close) + 2
            first = source.text[source.tokens[place + 2].start : source.tokens[first_end].end]
            yield source.put(place, _end(source, close) + 1, f"({first})")


_CHANGES: tuple[Callable[[_Source], Iterator[Mutant]], ...] = (
    _signs,
    _words,
    _functions,
    _numbers,
    _keywords,
    _conditions,
    _lists,
    _defaults,
)
