"""``python -m jawright``."""

import sys

from jawright.doors.cli.main import main

if __name__ == "__main__":
    sys.exit(main())
