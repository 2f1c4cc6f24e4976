"""Fleet schedule auditor: what the lighting schedules of many sites do, and what is wrong with them."""

__version__ = "0.1.0"
