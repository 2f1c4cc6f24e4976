"""Lines on paper: clipped, thinned and written; every expected value can be seen on squared paper."""

import pytest

from auditor.atlas.lines import FINEST, Box, Point, dense, lines_inside, path, ring_inside, thinned

BOX: Box = (0, 0, 10, 10)


def area(ring: list[Point]) -> float:
    pairs = zip(ring, ring[1:] + ring[:1], strict=True)
    return abs(sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairs)) / 2


@pytest.mark.parametrize(
    ("ring", "kept"),
    [
        ([(2, 2), (4, 2), (4, 4), (2, 4)], 4),  # inside: all of it
        ([(-9, -9), (19, -9), (19, 19), (-9, 19)], 100),  # around the box: the box
        ([(5, 5), (15, 5), (15, 15), (5, 15)], 25),  # over a corner: a quarter
        ([(0, -5), (5, 0), (0, 5), (-5, 0)], 12.5),  # a diamond about a corner: a quarter of 50
        ([(20, 0), (30, 0), (30, 10)], 0),  # beside it
    ],
)
def test_a_ring_is_cut_at_the_box(ring: list[Point], kept: float) -> None:
    inside = ring_inside(ring, BOX)
    assert area(inside) == pytest.approx(kept)
    assert all(0 <= x <= 10 and 0 <= y <= 10 for x, y in inside)


def test_a_line_is_cut_into_runs_with_the_points_beyond_its_ends() -> None:
    line = [(-9.0, 5.0), (-1.0, 5.0), (5.0, 5.0), (11.0, 5.0), (19.0, 5.0), (12.0, 1.0), (6.0, 1.0)]
    assert list(lines_inside(line, BOX)) == [
        [(-1.0, 5.0), (5.0, 5.0), (11.0, 5.0)],
        [(12.0, 1.0), (6.0, 1.0)],
    ]


def test_points_are_put_in_where_a_line_goes_far() -> None:
    assert dense([(0, 0), (3, 6)], 2) == [(0, 0), (1, 2), (2, 4), (3, 6)]
    assert dense([(0, 0), (0, 0), (1, 1)], 2) == [(0, 0), (0, 0), (1, 1)]


def test_what_strays_by_less_than_can_be_seen_is_left_out() -> None:
    line = [(0.0, 0.0), (5.0, FINEST * 0.9), (10.0, 0.0), (10.0, 8.0)]
    assert thinned(line) == [(0.0, 0.0), (10.0, 0.0), (10.0, 8.0)]
    assert thinned([(0.0, 0.0), (5.0, FINEST * 1.1), (10.0, 0.0)]) == [(0.0, 0.0), (5.0, 0.55), (10.0, 0.0)]


def test_a_ring_that_ends_where_it_began_keeps_its_shape() -> None:
    ring = [(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0), (0.0, 0.0)]
    assert thinned(ring) == ring


def test_a_path_is_written_in_halves_of_a_px_step_by_step() -> None:
    assert path([(1, 1), (6, 1), (6, 4)], closed=True) == "M2 2l10 0 0 6z"
    assert path([(9, 9), (2, 3)], closed=False) == "M18 18l-14-12"


@pytest.mark.parametrize("line", [[], [(1.0, 1.0)], [(1.0, 1.0), (1.1, 1.1)]])
def test_what_would_not_show_is_not_written(line: list[Point]) -> None:
    assert path(line, closed=True) == ""
    assert path(line, closed=False) == ""
