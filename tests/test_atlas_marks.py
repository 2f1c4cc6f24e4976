"""Marks on a panel: no site with a critical finding is hidden, and nothing covers what is to be read."""

import random
from itertools import combinations
from math import dist

import pytest

from auditor.atlas.marks import PITCHES, Mark, Spot, critical_marks, rank_sides, shared_marks

WIDTH, HEIGHT = 340, 255


def at_random(number: int, worst: tuple[str, ...], spread: float) -> list[Spot]:
    """Spots around the middle of a panel."""
    dice = random.Random(4)

    def near(middle: float) -> float:
        return dice.uniform(middle - spread, middle + spread)

    return [Spot(rank, near(170), near(128), dice.choice(worst)) for rank in range(1, number + 1)]


def closest(marks: list[Mark]) -> float:
    return min(dist((a.x, a.y), (b.x, b.y)) for a, b in combinations(marks, 2))


def test_a_critical_site_with_room_around_stays_where_it_is() -> None:
    size, (mark,) = critical_marks([Spot(1, 101, 94, "critical")], WIDTH, HEIGHT)
    assert size == PITCHES[0]
    # Its cell is 98 to 112 by 84 to 98, and its middle half 101.5 to 108.5 by 87.5 to 94.5.
    assert (mark.x, mark.y) == (101.5, 94)


def test_two_critical_sites_in_one_place_stand_side_by_side_the_first_by_rank_at_home() -> None:
    spots = [Spot(7, 104, 90, "critical"), Spot(3, 104, 90, "critical")]
    _, (first, second) = critical_marks(spots, WIDTH, HEIGHT)
    assert [mark.spots[0].rank for mark in (first, second)] == [3, 7]
    assert (first.x, first.y) == (104, 90)
    assert 7 <= dist((first.x, first.y), (second.x, second.y)) <= 14


@pytest.mark.parametrize(("number", "spread"), [(5, 100), (300, 60), (600, 0), (2500, 30)])
def test_every_critical_site_has_a_mark_of_its_own_inside_the_panel(number: int, spread: float) -> None:
    spots = at_random(number, ("critical",), spread)
    size, marks = critical_marks(spots, WIDTH, HEIGHT)
    assert [mark.spots for mark in marks] == [(spot,) for spot in spots]
    assert closest(marks) >= size / 2
    assert all(0 < mark.x < WIDTH and 0 < mark.y < HEIGHT for mark in marks)
    assert len({(round(mark.x), round(mark.y)) for mark in marks}) == number  # as they are drawn


def test_more_critical_sites_than_a_panel_holds_are_drawn_all_the_same() -> None:
    _, marks = critical_marks([Spot(k, 50, 50, "critical") for k in range(99)], 22, 22)
    assert len(marks) == 99


def test_sites_in_one_cell_share_a_mark_that_names_the_worst() -> None:
    spots = [Spot(9, 99, 85, "none"), Spot(8, 103, 93, "high"), Spot(5, 101, 89, "low")]
    (mark,) = shared_marks(spots, [], 100, WIDTH, HEIGHT)
    assert [spot.rank for spot in mark.spots] == [8, 5, 9]
    assert mark.worst == "high"
    # Their middle is 101, 89; the cell from 98, 84 and a radius of 6.5 keep the mark at 104.5, 90.5.
    assert (mark.x, mark.y) == (104.5, 90.5)


@pytest.mark.parametrize("number", [20, 400, 5000])
def test_shared_marks_stand_for_every_site_and_cover_no_other(number: int) -> None:
    spots = at_random(number, ("high", "medium", "low", "none"), 95)
    marks = shared_marks(spots, [], 80, WIDTH, HEIGHT)
    assert sorted(spot for mark in marks for spot in mark.spots) == spots
    assert len(marks) <= 80
    for a, b in combinations(marks, 2):
        assert max(abs(a.x - b.x), abs(a.y - b.y)) >= a.radius + b.radius - 1e-9


def test_a_shared_mark_gives_way_to_a_critical_one() -> None:
    spots = [Spot(1, 105, 91, "critical"), Spot(2, 105, 91, "high")]
    _, critical = critical_marks(spots, WIDTH, HEIGHT)
    (mark,) = shared_marks(spots, critical, 100, WIDTH, HEIGHT)
    assert dist((mark.x, mark.y), (105, 91)) > 7
    assert not mark.hidden


def test_a_shared_mark_among_critical_ones_is_hidden_and_still_there() -> None:
    spots = [Spot(1 + k, 105 + 14 * (k % 3 - 1), 91 + 14 * (k // 3 - 1), "critical") for k in range(9)]
    _, critical = critical_marks(spots, WIDTH, HEIGHT)
    (mark,) = shared_marks([Spot(50, 105, 91, "low")], critical, 100, WIDTH, HEIGHT)
    assert mark.hidden
    assert (mark.x, mark.y) == (105, 91)


def test_a_rank_stands_to_the_right_else_to_the_left_else_nowhere() -> None:
    def mark(rank: int, x: float) -> Mark:
        return Mark(x, 100, (Spot(rank, x, 100, "critical"),))

    assert rank_sides([mark(1, 100)], [], WIDTH) == {1: 1}
    assert rank_sides([mark(1, 330)], [], WIDTH) == {1: -1}  # too near to the right edge
    # 22 px apart: beside the first, left; beside the second, right; none between.
    assert rank_sides([mark(1, 100), mark(2, 112)], [], WIDTH) == {1: -1, 2: 1}
    assert rank_sides([mark(1, 100), mark(2, 112), mark(3, 124)], [], WIDTH) == {1: -1, 3: 1}


def test_two_ranks_never_share_a_gap() -> None:
    marks = [Mark(x, 100, (Spot(rank, x, 100, "critical"),)) for rank, x in ((10, 40), (11, 70), (12, 100))]
    walls = [Mark(x, 100, (Spot(90, x, 100, "high"),)) for x in (30, 110)]
    sides = rank_sides(marks, walls, WIDTH)
    assert sides == {10: 1, 11: 1}  # 12 has a mark to its right, and the rank of 11 to its left
