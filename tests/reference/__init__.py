"""A slow, plain evaluation of what schedules mean, kept as a yardstick for the fast one.

It reads a portfolio folder and walks over every instant at which something changes, in pure Python,
with a sun of its own (PyEphem). It shares neither code nor method with the product, so that a mistake
in one of them shows as a difference. It assumes that the rows are valid: rejecting bad ones is not
its business.
"""
