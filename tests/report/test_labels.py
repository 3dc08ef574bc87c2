"""Numbers on the map of spots: none on another, none on an outline, all within the map."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, box

from swardmark.drawing.labels import label_places

VIEW = (-3.0, -0.5, 4.0, 5.0)
SQUARE = box(0, 0, 1, 1)
SPOT = st.builds(
    lambda x, y, r: Point(x, y).buffer(r), st.floats(-2.5, 3.5), st.floats(0, 4.5), st.floats(0.05, 0.8)
)


def boxes(shapes, *, width=0.3, height=0.25):
    places = label_places(shapes, width=width, height=height, view=VIEW, taken=[SQUARE])
    return [box(x - width / 2, y - height / 2, x + width / 2, y + height / 2) for x, y in places]


@settings(deadline=None, max_examples=40)
@given(spots=st.lists(SPOT, min_size=1, max_size=8))
def test_numbers_keep_clear_of_each_other_and_stay_on_the_map(spots):
    labels = boxes(spots)
    assert all(a.intersection(b).area < 1e-9 for a, b in combinations(labels, 2))
    assert all(box(*VIEW).buffer(1e-9).contains(label) for label in labels)


def test_a_number_stands_in_a_wide_spot_and_beside_a_small_one():
    wide, small, other = Point(2, 3).buffer(0.6), Point(-1, 2).buffer(0.08), Point(-1.2, 2.05).buffer(0.08)
    inside, beside, third = boxes([wide, small, other])
    assert wide.contains(inside)
    for label in (beside, third):
        assert not label.intersects(small)
        assert not label.intersects(other)
        assert label.distance(small) < 0.5


def test_no_number_covers_the_square():
    (label,) = boxes([Point(1.1, 0.5).buffer(0.09)])
    assert label.intersection(SQUARE).area == pytest.approx(0)


def test_an_outline_that_touches_itself_is_labeled_too():
    """Outlines of bare ground follow cells, and may meet themselves in a corner."""
    bow = Polygon([(0, 0), (2, 2), (2, 0), (0, 2)])
    assert not bow.is_valid
    (place,) = label_places([bow], width=0.3, height=0.1, view=(-1, -1, 3, 3), taken=[bow])
    assert -1 <= place[0] <= 3 and -1 <= place[1] <= 3
