"""Who goes where: a plan of visits for the findings that no desk can mend."""

from auditor.visits.planning import Crews, Plan, make_plan
from auditor.visits.reading import Work, read_work, work_store
from auditor.visits.telling import told
from auditor.visits.writing import write_plan

__all__ = ["Crews", "Plan", "Work", "make_plan", "read_work", "told", "work_store", "write_plan"]
