"""Steps made of changes of level do what the changes say, whatever week, exception or year before hold."""

from datetime import date, datetime, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.intake.program import Horizon
from auditor.intake.steps import DAY, Change, day_of, event_frame
from auditor.model import Period

from .programs_case import firings, owner

HORIZON = Horizon.of(Period(date(2026, 11, 1), 60))
FIRST, LAST = day_of(HORIZON.first), day_of(HORIZON.last)
LEVELS = {"on": 100.0, "off": 0.0}
TIMES = st.lists(st.integers(0, 23), min_size=0, max_size=3, unique=True).map(sorted)


@st.composite
def programs(draw: st.DrawFn) -> list[Change]:
    """A week that repeats, another one from some date on, and dates with a day of their own; on, off, on…"""
    weeks = [draw(st.lists(TIMES, min_size=7, max_size=7)) for _ in range(2)]
    turn = draw(st.integers(FIRST, LAST))
    begins = draw(st.sampled_from((FIRST - 9, FIRST + 3, turn)))
    ends = draw(st.sampled_from((LAST + 9, LAST - 3, turn + 30)))
    own = draw(st.dictionaries(st.integers(LAST - 90, LAST), TIMES, max_size=6))
    level, found = 0.0, []
    for day in range(begins, ends + 1):
        for hour in own.get(day, weeks[day >= turn][day % 7]):
            level = 100 - level
            found.append(Change(day * DAY + hour * 3600, level, 1 + hour % 2))
    return found


@settings(max_examples=60, deadline=None)
@given(programs())
def test_the_level_is_right_from_the_audited_dates_on(changes: list[Change]) -> None:
    frame = event_frame(changes, HORIZON, owner(), "a.ics")
    fired = [
        ((at - datetime(1970, 1, 1)) // timedelta(seconds=1), LEVELS[action])
        for at, action in firings(frame, HORIZON.first, HORIZON.last)
    ]
    begins = day_of(HORIZON.audited) * DAY
    asked = sorted(
        {begins} | {at for at, _ in fired if at > begins} | {one.at for one in changes if one.at > begins}
    )
    for at in (moment for moment in asked if moment < (LAST + 1) * DAY):
        wanted = [one.level for one in changes if one.at <= at][-1:] or [0.0]
        assert ([level for when, level in fired if when <= at][-1:] or [0.0]) == wanted, at - begins
    assert len(set(frame["event_id"])) == frame.height


def test_what_is_over_before_the_audited_dates_leaves_no_step() -> None:
    day = day_of(date(2026, 10, 1))
    over = [Change(day * DAY, 100, 1), Change(day * DAY + 3600, 0, 1)]
    assert event_frame(over, HORIZON, owner(), "a.ics").is_empty()
    left_on = event_frame(over[:1], HORIZON, owner(), "a.ics")
    assert left_on.select("action", "from", "until").rows() == [("on", "2026-10-01", "2026-10-01")]
