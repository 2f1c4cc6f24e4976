"""From days and minutes to path data: worked by hand, and read back by another way."""

from collections.abc import Iterable, Sequence
from itertools import groupby, pairwise

import hypothesis.strategies as st
import numpy as np
from hypothesis import given, settings

from auditor.picture import shapes
from auditor.picture.chains import Spans, chains
from auditor.picture.columns import Ints
from auditor.picture.labels import LINE, spaced
from auditor.picture.shapes import Points

from .picture_case import minutes

Span = tuple[int, int, int]  # day, first minute, minute after the last
Grouped = tuple[int, int, int, int]  # with its group before


def columns(rows: Sequence[tuple[int, ...]], width: int) -> Iterable[Ints]:
    return np.array(rows, np.int64).reshape(-1, width).T


def strung(spans: Sequence[Grouped], *reaches: int) -> list[list[list[Grouped]]]:
    """The chains for each reach, as lists."""
    found = []
    for ordered, begins in chains(Spans(*columns(spans, 4)), *reaches):
        rows = list(zip(*(column.tolist() for column in ordered), strict=True))
        edges = [*begins.tolist(), len(rows)]
        found.append([rows[first:after] for first, after in pairwise(edges)])
    return found


def one_by_one(spans: Iterable[Span], reach: int) -> list[list[Span]]:
    """What a chain is, without columns: the longest of a day goes first, on the oldest that it touches."""
    found: list[list[Span]] = []
    for span in sorted(spans, key=lambda span: (span[0], span[1] - span[2])):
        day, start, end = span
        for chain in found:
            before, low, high = chain[-1]
            if 0 < day - before <= reach and low < end and start < high:
                chain.append(span)
                break
        else:
            found.append([span])
    return found


def path_of(spans: Sequence[Span]) -> str:
    """The path of spans of one group; none has no path."""
    return shapes.areas(*chains(Spans(*columns([(0, *span) for span in spans], 4)), 1)[0]).get(0, "")


def strokes_of(points: Sequence[tuple[int, int]]) -> str:
    day, minute = columns(points, 2)
    return shapes.dashes(np.zeros(len(points), np.int64), Points(day, minute)).get(0, "")


def test_a_step_of_an_hour_is_a_step_of_sixty() -> None:
    spans = [(0, 1200, 1320), (1, 1200, 1320), (2, 1260, 1380), (3, 1260, 1380)]
    assert path_of(spans) == "M0 1200h2v60h2v120h-2v-60h-2z"


def test_a_single_date_is_a_rectangle() -> None:
    assert path_of([(5, 0, 1440)]) == "M5 0h1v1440h-1z"


def test_dates_that_do_not_touch_are_outlines_of_their_own() -> None:
    assert path_of([(0, 10, 20), (2, 10, 20)]) == "M0 10h1v10h-1zM2 10h1v10h-1z"
    assert path_of([(0, 10, 20), (1, 20, 30)]) == "M0 10h1v10h-1zM1 20h1v10h-1z"


def test_the_longer_of_two_goes_on_and_the_other_stands_beside() -> None:
    spans = [(0, 0, 0, 100), (0, 1, 0, 5), (0, 1, 10, 100)]
    assert strung(spans, 1) == [[[(0, 0, 0, 100), (0, 1, 10, 100)], [(0, 1, 0, 5)]]]


def test_a_weekend_between_is_bridged_where_it_is_asked_for() -> None:
    friday, tuesday = (0, 0, 0, 9), (0, 4, 0, 9)
    assert strung([friday, tuesday], 1, 4) == [[[friday], [tuesday]], [[friday, tuesday]]]


def test_no_date_gives_no_path() -> None:
    assert path_of([]) == "" and strokes_of([]) == ""


def test_a_line_is_one_stroke_as_long_as_it_stays_level() -> None:
    week = [(0, 540), (1, 540), (2, 600), (3, 540), (4, 540)]
    assert strokes_of(week) == "M0 540h2M2 600h1M3 540h2"
    assert strokes_of([(0, 480), (0, 720), (1, 480), (1, 720)]) == "M0 480h2M0 720h2"  # open twice a day


def test_groups_have_paths_of_their_own() -> None:
    spans = [(0, 0, 0, 10), (0, 1, 0, 10), (2, 1, 0, 10)]
    assert shapes.areas(*chains(Spans(*columns(spans, 4)), 1)[0]) == {
        0: "M0 0h2v10h-2z",
        2: "M1 0h1v10h-1z",
    }


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
    assert minutes(path_of(spans)) == wanted


@given(groups=st.lists(some_spans(), max_size=4), reaches=st.lists(st.integers(1, 4), min_size=1, max_size=2))
@settings(max_examples=500, deadline=None)
def test_chains_of_many_groups_are_those_of_each_one_by_one(
    groups: list[list[Span]], reaches: list[int]
) -> None:
    spans = [(group, *span) for group, own in enumerate(groups) for span in own]
    for reach, found in zip(reaches, strung(spans, *reaches), strict=True):
        wanted = [
            [(group, *span) for span in chain]
            for group, own in enumerate(groups)
            for chain in one_by_one(own, reach)
        ]
        assert found == wanted


@given(points=st.lists(st.tuples(st.integers(0, 6), st.integers(0, 3)), max_size=12).map(sorted))
@settings(max_examples=300, deadline=None)
def test_strokes_cover_every_point_once(points: list[tuple[int, int]]) -> None:
    points = [point for point, _ in groupby(points)]
    drawn = []
    for stroke in strokes_of(points).split("M")[1:]:
        place, length = stroke.split("h")
        day, minute = map(int, place.split())
        drawn += [(day + more, minute) for more in range(int(length))]
    assert sorted(drawn) == points


@given(wanted=st.lists(st.floats(0, 400), max_size=6).map(sorted))
@settings(max_examples=200, deadline=None)
def test_labels_stand_a_line_apart_and_about_where_they_belong(wanted: list[float]) -> None:
    heights = spaced(wanted)
    assert all(b - a >= LINE - 1e-6 for a, b in pairwise(heights))
    assert len(heights) == len(wanted)
    assert abs(sum(heights) - sum(wanted)) < 1e-6  # moved apart about their own middle
    if all(b - a >= LINE for a, b in pairwise(wanted)):
        assert all(abs(a - b) < 1e-6 for a, b in zip(heights, wanted, strict=True))
