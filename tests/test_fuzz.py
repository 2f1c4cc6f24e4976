"""A few bad inputs for each reader; ``python -m tests.fuzz.run`` tries them by the thousand."""

import pytest

from .fuzz.run import once
from .fuzz.targets import TARGETS


@pytest.mark.filterwarnings("ignore:Duplicate name")
@pytest.mark.parametrize("name", sorted(TARGETS))
def test_bad_input_gives_a_sentence_or_rows_that_are_all_accounted_for(name: str) -> None:
    assert once(name, 25) == 25
