"""report.html and the pages of single sites, which ask nothing of the network; visits.html beside them."""

from auditor.report.cards import write_cards
from auditor.report.writing import PAGES, write_report

__all__ = ["PAGES", "write_cards", "write_report"]
