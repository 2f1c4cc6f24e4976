"""The sites on a map: panels, an outline that a package carries, marks. In figures: the report adds words."""
