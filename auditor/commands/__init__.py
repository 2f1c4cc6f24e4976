"""Commands with a file of their own."""

from auditor.commands.export import export
from auditor.commands.options import start_date
from auditor.commands.visits import visits

__all__ = ["export", "start_date", "visits"]
