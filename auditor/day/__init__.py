"""What the circuits and sensors of one site do on one date, and why: a log, and answers to "why then?"."""

from auditor.day.site import SiteDay
from auditor.day.tell import Told, tell
from auditor.day.text import text

__all__ = ["SiteDay", "Told", "tell", "text"]
