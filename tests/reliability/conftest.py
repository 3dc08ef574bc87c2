"""The scripts of this folder are imported by its tests."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
