"""Lets the tests of this folder import the synthetic archive."""

import sys
from pathlib import Path

sys.path.append(str(Path(__file__).parents[1] / "synthetic"))
