"""A user's own rules: read from a folder, run where they can do no harm, judged like any other input."""

from auditor.ownrules.files import own_rules
from auditor.ownrules.running import SECONDS, run_own_rules, try_own_rules

__all__ = ["SECONDS", "own_rules", "run_own_rules", "try_own_rules"]
