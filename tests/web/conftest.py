"""Lets the tests of the pages import the small archives and the synthetic one."""

import sys
from pathlib import Path

for folder in ("archive", "synthetic"):
    sys.path.append(str(Path(__file__).parents[1] / folder))
