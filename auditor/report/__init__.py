"""report.html and the pages of single sites, which ask nothing of the network; visits.html beside them."""

from auditor.report.cards import write_cards
from auditor.report.links import pages_in
from auditor.report.writing import PAGES, write_report

__all__ = ["PAGES", "pages_in", "write_cards", "write_report"]
