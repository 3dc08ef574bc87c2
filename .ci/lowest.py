"""Print the lowest versions that pyproject.toml allows, as pinned requirements for an environment of their own.

All dependencies of the package, the extras that its main job may use, and what the tests are run with.
"""

import re
import tomllib
from pathlib import Path

TOOLS = ("pytest", "pytest-xdist", "hypothesis", "tomlkit")

project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text())["project"]
extras = project["optional-dependencies"]
wanted = [
    *project["dependencies"],
    *(line for line in extras["test"] if re.split(r"[>\[]", line)[0] in TOOLS),
]
for line in wanted:
    print(line.replace(">=", "=="))
