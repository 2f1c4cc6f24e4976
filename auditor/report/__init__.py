"""report.html: the whole fleet on one page that asks nothing of the network; visits.html beside it."""

from auditor.report.cards import write_cards
from auditor.report.page import write_report

__all__ = ["write_cards", "write_report"]
