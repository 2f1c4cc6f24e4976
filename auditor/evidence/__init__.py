"""What an export of schedules shows of an energy code, what it contradicts, and what it cannot show."""

from auditor.evidence.deciding import Evidence, evidence
from auditor.evidence.items import load_items

__all__ = ["Evidence", "evidence", "load_items"]
