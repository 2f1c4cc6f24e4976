"""Commands with a file of their own."""

from auditor.commands.options import start_date
from auditor.commands.visits import visits

__all__ = ["start_date", "visits"]
