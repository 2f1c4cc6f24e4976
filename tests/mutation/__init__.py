"""Mutation testing: one small change at a time, and whether a test notices. ``run.py`` is the command."""
