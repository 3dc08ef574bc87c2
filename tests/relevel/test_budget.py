"""The budget: against trying every choice, and as properties."""

import itertools
import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from swardmark.common.errors import UsageError
from swardmark.relevel.budget import Budget, Job, best_season, plan_spending

PENNY = 1e-3
SMALL = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def job_lists(most):
    one = st.tuples(st.floats(0.001, 0.05), st.integers(1, 3), st.floats(0.01, 1.0))
    return st.lists(one, max_size=most).map(
        lambda rows: [Job(n, *row) for n, row in enumerate(rows, start=1)]
    )


budgets = st.builds(
    Budget,
    money=st.floats(0, 8),
    price_per_m3=st.floats(20, 90),
    delivery_price=st.sampled_from([0.0, 1.0]),
    passes=st.integers(1, 3),
    sold_by_m3=st.sampled_from([None, 0.014]),
)


def every_choice(jobs, budget):
    """The best benefit by trying all counts of passes."""
    best = 0.0
    for counts in itertools.product(*[range(min(job.passes, budget.passes) + 1) for job in jobs]):
        volume = sum(job.pass_m3 * n for job, n in zip(jobs, counts, strict=True))
        unit = budget.sold_by_m3
        bought = math.ceil(volume / unit - 1e-9) * unit if unit else volume
        cost = bought * budget.price_per_m3 + max(counts, default=0) * budget.delivery_price
        if cost <= budget.money + 1e-9:
            best = max(best, sum(job.benefit / job.passes * n for job, n in zip(jobs, counts, strict=True)))
    return best


@SMALL
@given(jobs=job_lists(4), budget=budgets)
def test_the_season_is_the_best_of_all_choices(jobs, budget):
    season = best_season(jobs, budget)
    assert season.benefit >= every_choice(jobs, budget) - 1e-6
    assert season.cost <= budget.money + PENNY
    assert all(n <= budget.passes for n in season.passes.values())


@SMALL
@given(jobs=job_lists(12), budget=budgets)
def test_no_season_exceeds_the_budget_and_every_pass_is_done_once(jobs, budget):
    plan = plan_spending(jobs, budget)
    for season in plan.seasons:
        assert season.cost <= budget.money + PENNY
        assert season.order_m3 >= season.volume_m3 - 1e-9
    done = {job.key: sum(season.passes.get(job.key, 0) for season in plan.seasons) for job in jobs}
    for job in jobs:
        assert done[job.key] <= job.passes
        assert (done[job.key] == job.passes) is (job.key not in plan.out_of_reach)


@SMALL
@given(jobs=job_lists(10), budget=budgets)
def test_twice_the_budget_never_gives_less_benefit(jobs, budget):
    double = Budget(
        2 * budget.money, budget.price_per_m3, budget.delivery_price, None, budget.passes, budget.sold_by_m3
    )
    assert best_season(jobs, double).benefit >= best_season(jobs, budget).benefit - 1e-6


@SMALL
@given(jobs=job_lists(10), litres=st.floats(0, 60))
def test_a_volume_limit_is_kept(jobs, litres):
    assert best_season(jobs, Budget(volume_m3=litres / 1000)).volume_m3 <= litres / 1000 + 1e-6


@SMALL
@given(jobs=job_lists(6), budget=budgets)
def test_whole_spots_are_never_left_half_done(jobs, budget):
    season = best_season(jobs, budget, whole_only=True)
    passes = {job.key: job.passes for job in jobs}
    assert all(n == passes[key] for key, n in season.passes.items())
    assert season.cost <= budget.money + PENNY


def test_an_exact_fit_is_bought():
    season = best_season([Job(1, 1.0, 1, 1.0)], Budget(money=45, price_per_m3=45))
    assert season.passes == {1: 1}
    assert season.cost == pytest.approx(45)


def test_the_bill_is_for_what_is_sold_and_for_every_delivery():
    """Worked by hand: 0.03 m3 in bags of 0.014 m3 are three bags; two passes are two deliveries."""
    sold = Budget(money=1000, price_per_m3=100, delivery_price=25, passes=2, sold_by_m3=0.014)
    season = best_season([Job(1, 0.03, 2, 1.0)], sold)
    assert season.order_m3 == pytest.approx(3 * 0.014)
    assert season.deliveries == 2
    assert season.cost == pytest.approx(3 * 0.014 * 100 + 2 * 25)


def test_no_limit_takes_all_passes_that_a_season_allows():
    plan = plan_spending([Job(1, 0.03, 5, 1.0), Job(2, 0.01, 1, 0.2)], Budget(passes=2))
    assert [season.passes for season in plan.seasons] == [{1: 2, 2: 1}, {1: 2}, {1: 1}]
    assert plan.out_of_reach == ()


def test_nothing_to_do_and_nothing_to_spend_are_fine():
    assert plan_spending([], Budget()).seasons == ()
    broke = plan_spending([Job(1, 0.01, 1, 1.0)], Budget(money=0, price_per_m3=60))
    assert broke.chosen == ()
    assert broke.out_of_reach == (1,)


def test_among_equals_the_one_with_less_sand_is_taken():
    season = best_season([Job(1, 0.02, 1, 0.5), Job(2, 0.01, 1, 0.5)], Budget(volume_m3=0.02))
    assert season.passes == {2: 1}


@pytest.mark.parametrize(
    "wrong", [{"money": -1, "price_per_m3": 5}, {"money": 100}, {"passes": 0}, {"volume_m3": math.nan}]
)
def test_budgets_that_cannot_be_are_refused(wrong):
    with pytest.raises(UsageError, match="Give"):
        Budget(**wrong)
