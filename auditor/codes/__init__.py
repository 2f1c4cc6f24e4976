"""Energy codes as data: editions, the user's amendments, what differs between two."""

from auditor.codes.edition import CodeItem, Edition
from auditor.codes.fields import told_fields
from auditor.codes.merging import Codes, edition_of, load_codes, own_files
from auditor.codes.telling import code_list, told_difference, told_edition
from auditor.codes.vocabulary import ITEMS

__all__ = [
    "ITEMS",
    "CodeItem",
    "Codes",
    "Edition",
    "code_list",
    "edition_of",
    "load_codes",
    "own_files",
    "told_difference",
    "told_edition",
    "told_fields",
]
