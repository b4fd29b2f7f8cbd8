"""``python -m reportgen``."""

import sys

from reportgen.cli import main

if __name__ == "__main__":
    sys.exit(main())
