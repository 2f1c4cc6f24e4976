"""Signals that end the program: what is under way is given up, and what is being put in place is not."""

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

SAID = "auditor: stopped; no file is half written, and the same command starts over."
_SIGNALS = (signal.SIGINT, signal.SIGTERM)  # Ctrl-C, and what a scheduler or a shutdown sends


class Stopped(BaseException):
    """The program was told to end by the signal ``number``. No Exception: nobody may take it for a fault.

    ``status`` is the exit status by custom: 130 after Ctrl-C, 143 after SIGTERM.
    """

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.status = 128 + number


class _State:
    asked = 0  # the signal that asked for the end; 0: none
    placing = False  # whether something is just being put in place


def listen() -> None:
    """From here on the first signal raises Stopped; a second one ends the program at once.

    One that is ignored, as of a command in the background, stays so.
    """
    for number in _SIGNALS:
        if signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, _stop)


def _stop(number: int, _: FrameType | None) -> None:
    _State.asked = number
    for each in _SIGNALS:
        signal.signal(each, signal.SIG_DFL)
    if not _State.placing:
        raise Stopped(number)


def asked() -> int:
    """The signal that asked for the end, 0 for none: a library may have made another error of it."""
    return _State.asked


@contextmanager
def undisturbed() -> Iterator[None]:
    """Around what must not end in the middle, and takes next to no time: a signal waits for its end."""
    _State.placing = True
    try:
        yield
    finally:
        _State.placing = False
    if _State.asked:
        raise Stopped(_State.asked)
