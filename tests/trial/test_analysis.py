"""Least squares of blocks and plots: what must not change them, what missing plots do, and the letters."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from swardmark.trial.analysis import block_analysis
from swardmark.trial.letters import letters

SIZES = st.tuples(st.integers(2, 6), st.integers(2, 5))
NAMES, BLOCKS = "abcdef", "12345"


@st.composite
def plots(draw, *, holes=True):
    """Covers of a randomized block, up to two plots missing."""
    rows, columns = draw(SIZES)
    count = rows * columns
    values = draw(st.lists(st.floats(0, 100, width=32), min_size=count, max_size=count))
    hidden = draw(st.sets(st.integers(0, count - 1), max_size=2)) if holes else set()
    values = [math.nan if n in hidden else value for n, value in enumerate(values)]
    treatments = [NAMES[n // columns] for n in range(count)]
    blocks = [BLOCKS[n % columns] for n in range(count)]
    return values, treatments, blocks


def differences(found):
    means = np.array([one.mean for one in found.means])
    return np.subtract.outer(means, means)


@settings(deadline=None)
@given(plots(), st.floats(-50, 50), st.lists(st.floats(-30, 30), min_size=5, max_size=5))
def test_a_constant_and_block_effects_change_no_difference_and_no_error(table, constant, effects):
    values, treatments, blocks = table
    before = block_analysis(values, treatments, blocks)
    moved = [
        value + constant + effects[BLOCKS.index(block)] for value, block in zip(values, blocks, strict=True)
    ]
    after = block_analysis(moved, treatments, blocks)
    assert after.connected == before.connected
    if before.connected:
        np.testing.assert_allclose(differences(after), differences(before), atol=1e-7)
        np.testing.assert_allclose(after.error.mean_square, before.error.mean_square, rtol=1e-7, atol=1e-7)
        np.testing.assert_allclose(
            after.treatments.sum_of_squares, before.treatments.sum_of_squares, atol=1e-6
        )


@settings(deadline=None)
@given(plots(), st.randoms())
def test_the_order_of_the_plots_does_not_matter(table, random):
    rows = list(zip(*table, strict=True))
    before = block_analysis(*table, order=NAMES)
    random.shuffle(rows)
    after = block_analysis(*zip(*rows, strict=True), order=NAMES)
    assert [one.letters for one in after.means] == [one.letters for one in before.means]
    np.testing.assert_allclose(
        [one.mean for one in after.means], [one.mean for one in before.means], atol=1e-8
    )


@settings(deadline=None)
@given(plots(holes=False))
def test_the_sums_of_squares_add_up(table):
    found = block_analysis(*table)
    parts = found.blocks.sum_of_squares + found.treatments.sum_of_squares + found.error.sum_of_squares
    assert parts == pytest.approx(found.total.sum_of_squares, rel=1e-9, abs=1e-6)
    assert found.blocks.df + found.treatments.df + found.error.df == found.total.df


def test_a_missing_plot_of_a_good_block_is_made_good():
    """Block 2 lies 20 higher: without its plot, the plain mean of "a" would be 10 too low."""
    found = block_analysis([10, math.nan, 11, 30, 31, 51], list("aabbcc"), list("121212"))
    a, b, _ = (one.mean for one in found.means)
    assert found.means[0].plots == 1
    assert a == pytest.approx(10 + 0.5 * (19 + 20) / 2, abs=0.3)
    assert a < b
    assert found.means[0].se > found.means[1].se


def test_two_parts_that_share_no_block_are_not_compared():
    found = block_analysis([10, 12, 20, 23], list("abcd"), list("1122"))
    assert not found.connected
    assert [one.mean for one in found.means] == [10, 12, 20, 23]
    assert {one.letters for one in found.means} == {""}
    assert math.isnan(found.lsd) and math.isnan(found.treatments.p)


def test_plots_all_alike_are_not_tested():
    found = block_analysis([7.3] * 6, list("aabbcc"), list("121212"))
    assert [one.mean for one in found.means] == pytest.approx([7.3] * 3)
    assert math.isnan(found.treatments.f) and math.isnan(found.lsd)


def test_a_day_without_a_plot_and_a_treatment_without_one_keep_their_places():
    nothing = block_analysis([math.nan] * 4, list("abab"), list("1122"), order="ab")
    assert [one.plots for one in nothing.means] == [0, 0]
    some = block_analysis([1, 2, math.nan, 4, 6, math.nan], list("abcabc"), list("111222"), order="abc")
    assert [one.plots for one in some.means] == [2, 2, 0]
    assert math.isnan(some.means[2].mean) and some.means[2].letters == ""
    assert np.isnan(some.difference_se[2]).all() and np.isfinite(some.difference_se[:2, :2]).all()


def test_clear_differences_have_letters_of_their_own():
    found = block_analysis([90, 91, 92, 50, 52, 51, 51, 51, 54], list("aaabbbccc"), list("123123123"))
    assert [one.letters for one in found.means] == ["a", "b", "b"]


@settings(deadline=None)
@given(st.integers(1, 8).flatmap(lambda n: st.tuples(
    st.lists(st.floats(0, 100), min_size=n, max_size=n),
    st.lists(st.booleans(), min_size=n * n, max_size=n * n),
)))  # fmt: skip
def test_two_treatments_share_a_letter_just_where_they_do_not_differ(table):
    means, flags = table
    count = len(means)
    differ = np.triu(np.array(flags).reshape(count, count), 1)
    differ = differ | differ.T
    signs = letters(means, differ)
    for one, other in itertools.combinations(range(count), 2):
        assert bool(set(signs[one]) & set(signs[other])) == (not differ[one, other])
    assert all(signs)
    assert "a" in signs[int(np.argmax(means))]
