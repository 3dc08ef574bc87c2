from __future__ import annotations

import pytest
from made_season import made_season

from swardmark.review import SeasonReview


@pytest.fixture(scope="session")
def season(tmp_path_factory: pytest.TempPathFactory) -> SeasonReview:
    return made_season(tmp_path_factory.mktemp("plover-yard"))
