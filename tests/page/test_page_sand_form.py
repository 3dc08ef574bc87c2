"""What the page's calculator for sand begins with, and what it objects to."""

from __future__ import annotations

import pytest

from swardmark.lawn.toml import Lawn
from swardmark.page.sharing.sand_form import judged_depth, usual_depth


@pytest.mark.parametrize(
    ("grass", "units", "depth"),
    [
        ("zoysiagrass", "metric", "6 mm"),
        ("zoysiagrass", "us", "1/4 in"),
        ("st augustinegrass", "metric", "3.2 mm"),
        ("st augustinegrass", "us", "1/8 in"),
    ],
)
def test_the_form_begins_with_what_the_grass_stands(grass, units, depth):
    """Company figures (weak): no heavy topdressing on St. Augustinegrass; it once began with 1/4 in for every grass."""
    assert usual_depth(Lawn(name="ours", grass=grass, units=units)) == depth


def test_a_pass_that_is_too_deep_for_the_grass_is_said():
    lawn = Lawn(name="ours", grass="st augustinegrass")
    assert "more than St. Augustinegrass stands in a pass" in judged_depth(lawn, 6.0)[0]
    assert judged_depth(lawn, 3.0) == () == judged_depth(Lawn(name="ours", grass="zoysiagrass"), 6.0)
