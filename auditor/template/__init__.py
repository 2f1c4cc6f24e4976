"""A workbook to type a portfolio into: the tables, examples, drop-downs, and a guide to every column."""

from auditor.template.guide import tables_markdown
from auditor.template.writing import write_template

__all__ = ["tables_markdown", "write_template"]
