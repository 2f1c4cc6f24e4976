"""report.html: the whole fleet on one page that asks nothing of the network."""

from auditor.report.page import write_report

__all__ = ["write_report"]
