"""Ways to read a cell, and the question where a person must say which."""

from dataclasses import dataclass, field
from itertools import product

Keys = dict[str, str | dict[str, str]]


@dataclass(frozen=True)
class Ways:
    """Keys of a cell that fit, the likeliest first; ``question`` where a person must say which."""

    keys: list[Keys] = field(default_factory=lambda: [{}])
    question: str = ""

    def times(self, other: "Ways") -> "Ways":
        """Both together."""
        both: list[Keys] = [one | two for one, two in product(self.keys, other.keys)]
        return Ways(both, " ".join(filter(None, (self.question, other.question))))
