"""Bad and hostile input by the thousand: ``python -m tests.fuzz.run --minutes 5`` runs it for so long."""
