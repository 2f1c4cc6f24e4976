"""The one error that reaches a user: a sentence that says what is wrong, where, and what to do."""

from auditor.letters import printable

_LONGEST = 1500  # characters; a name in it may be of any length


class UserError(Exception):
    """The run cannot go on; the message is the whole explanation (exit status 2).

    It stays one line that a terminal can show, whatever stood in the input that it quotes.
    """

    def __init__(self, sentence: str) -> None:
        line = " ".join(sentence.split("\n"))
        super().__init__(printable(line if len(line) <= _LONGEST else f"{line[:_LONGEST]}…"))
