"""The way in, as ``auditor`` or ``python -m auditor``: from here on a signal ends it with a sentence."""

import sys

from auditor.stopping import SAID, Stopped, listen


def main() -> None:
    """The command that was typed."""
    listen()
    try:
        from auditor.cli import main as commands  # takes a second, in which a signal may come too

        commands(prog_name="auditor")
    except Stopped as stop:
        print(SAID, file=sys.stderr)
        sys.exit(stop.status)


if __name__ == "__main__":
    main()
