"""Speed of the audit on made-up fleets; run by hand: ``python -m tests.bench.run``. No tests here."""
