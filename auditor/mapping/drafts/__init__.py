"""A draft of a map: what an unfamiliar file seems to say, and what only a person can tell."""

from auditor.mapping.drafts.text import draft

__all__ = ["draft"]
