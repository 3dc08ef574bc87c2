from __future__ import annotations

import pytest
from made_season import made_season

from swardmark.season import Season


@pytest.fixture(scope="session")
def season(tmp_path_factory: pytest.TempPathFactory) -> Season:
    return made_season(tmp_path_factory.mktemp("plover-yard"))
