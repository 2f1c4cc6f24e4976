"""From days and minutes to path data: worked by hand, and read back by another way."""

from itertools import pairwise

import hypothesis.strategies as st
from hypothesis import given, settings

from auditor.picture.labels import LINE, spaced
from auditor.picture.shapes import Span, areas, chains, dashes

from .picture_case import minutes


def test_a_step_of_an_hour_is_a_step_of_sixty() -> None:
    spans = [(0, 1200, 1320), (1, 1200, 1320), (2, 1260, 1380), (3, 1260, 1380)]
    assert areas(spans) == "M0 1200h2v60h2v120h-2v-60h-2z"


def test_a_single_date_is_a_rectangle() -> None:
    assert areas([(5, 0, 1440)]) == "M5 0h1v1440h-1z"


def test_dates_that_do_not_touch_are_outlines_of_their_own() -> None:
    assert areas([(0, 10, 20), (2, 10, 20)]) == "M0 10h1v10h-1zM2 10h1v10h-1z"
    assert areas([(0, 10, 20), (1, 20, 30)]) == "M0 10h1v10h-1zM1 20h1v10h-1z"


def test_the_longer_of_two_goes_on_and_the_other_stands_beside() -> None:
    assert chains([(0, 0, 100), (1, 0, 5), (1, 10, 100)]) == [[(0, 0, 100), (1, 10, 100)], [(1, 0, 5)]]


def test_a_weekend_between_is_bridged_where_it_is_asked_for() -> None:
    week = [(0, 0, 9), (4, 0, 9)]
    assert chains(week) == [[(0, 0, 9)], [(4, 0, 9)]]
    assert chains(week, 4) == [week]


def test_no_date_gives_no_path() -> None:
    assert areas([]) == "" and dashes([]) == ""


def test_a_line_is_one_stroke_as_long_as_it_stays_level() -> None:
    week = [(0, 540), (1, 540), (2, 600), (3, 540), (4, 540)]
    assert dashes(week) == "M0 540h2M2 600h1M3 540h2"
    assert dashes([(0, 480), (0, 720), (1, 480), (1, 720)]) == "M0 480h2M0 720h2"  # open twice a day


@st.composite
def some_spans(draw: st.DrawFn) -> list[Span]:
    """Spans as they come from a store: in order, none longer than a day; those of one day may overlap."""
    days = draw(st.lists(st.integers(0, 8), max_size=14))
    found = []
    for day in sorted(days):
        start = draw(st.integers(0, 28))
        found.append((day, start, start + draw(st.integers(1, 30 - start))))
    return found


@given(spans=some_spans())
@settings(max_examples=300, deadline=None)
def test_what_is_filled_is_what_was_given(spans: list[Span]) -> None:
    wanted: dict[int, set[int]] = {}
    for day, start, end in spans:
        wanted.setdefault(day, set()).update(range(start, end))
    assert minutes(areas(spans)) == wanted


@given(wanted=st.lists(st.floats(0, 400), max_size=6).map(sorted))
@settings(max_examples=200, deadline=None)
def test_labels_stand_a_line_apart_and_about_where_they_belong(wanted: list[float]) -> None:
    heights = spaced(wanted)
    assert all(b - a >= LINE - 1e-6 for a, b in pairwise(heights))
    assert len(heights) == len(wanted)
    assert abs(sum(heights) - sum(wanted)) < 1e-6  # moved apart about their own middle
    if all(b - a >= LINE for a, b in pairwise(wanted)):
        assert all(abs(a - b) < 1e-6 for a, b in zip(heights, wanted, strict=True))
