"""Commands with a file of their own."""

from auditor.commands.codes import codes, own_codes
from auditor.commands.evidence import evidence
from auditor.commands.export import export
from auditor.commands.maps import check, draft_map
from auditor.commands.options import Folder, of_machine, start_date
from auditor.commands.sun import sun
from auditor.commands.template import template
from auditor.commands.visits import visits

__all__ = [
    "Folder",
    "check",
    "codes",
    "draft_map",
    "evidence",
    "export",
    "of_machine",
    "own_codes",
    "start_date",
    "sun",
    "template",
    "visits",
]
