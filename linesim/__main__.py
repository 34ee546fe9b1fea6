"""`python -m linesim` is the command `linesim`."""

import sys

from .show.commands import main

if __name__ == "__main__":
    sys.exit(main())
