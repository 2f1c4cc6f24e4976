"""A picture's data for the script beside it: every date's times, short, and the words for them."""

import json
from collections.abc import Mapping, Sequence

from auditor.picture.frame import Frame
from auditor.picture.paints import PAINTS
from auditor.picture.reading import Change
from auditor.picture.sheet import Ground, Painting
from auditor.picture.words import change_words


def coded(frame: Frame, year: Painting, differs: Painting, ground: Ground, changes: Sequence[Change]) -> str:
    """JSON. ``does``, ``differs``, ``sun`` and ``hours``: dates parted by ``;``, ``*3`` after one that comes
    three times in a row; blank where there is nothing on any date.

    A date is a row of capitals, each with the minute of the local day from which it holds, to base 36:
    ``K0Daz@40_sc`` is K from 00:00, D at level 40 from 06:35, nothing from 17:00. In ``sun`` and ``hours``
    they happen at that minute: R sunrise, S sunset, P opens, Q closes. ``words`` says what the others stand
    for, ``notes`` what else is to say of a date.
    """
    used = {**year.patches, **differs.patches}
    dates = {"does": year.dates, "differs": differs.dates, "sun": ground.sun, "hours": ground.hours}
    plain = ",".join(f'"{name}":"{text}"' for name, text in dates.items())  # long, and nothing to escape
    words = {paint.letter: paint.words for name, paint in PAINTS.items() if name in used}
    notes = {str(change.day): change_words(change, frame) for change in changes}
    head = f'"first":"{frame.first}","count":{frame.days}'
    return f'{{{head},{plain},"words":{_json(words)},"notes":{_json(notes)}}}'


def _json(content: Mapping[str, str]) -> str:
    return json.dumps(content, ensure_ascii=False, separators=(",", ":"))
