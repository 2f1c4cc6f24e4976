"""The one error that reaches a user: a sentence that says what is wrong, where, and what to do."""


class UserError(Exception):
    """The run cannot go on; the message is the whole explanation (exit status 2)."""
