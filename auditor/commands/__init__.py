"""Commands with a file of their own."""

from auditor.commands.maps import check, draft_map
from auditor.commands.options import start_date
from auditor.commands.visits import visits

__all__ = ["check", "draft_map", "start_date", "visits"]
