"""One plan for many lawns: where there is one lawn it is that lawn's own, and the budget is never passed."""

from __future__ import annotations

from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from swardmark.lawn.toml import Lawn
from swardmark.lawns.sand import LawnSpots, plan_lawns, plan_lines
from swardmark.relevel.budget import Job, plan_spending
from swardmark.relevel.planning import budget_of

JOBS = st.lists(
    st.builds(
        Job,
        key=st.integers(1, 9),
        volume_m3=st.floats(0.005, 0.4),
        passes=st.integers(1, 4),
        benefit=st.floats(0.01, 5),
    ),
    max_size=4,
    unique_by=lambda job: job.key,
)


def lawn(number: int) -> Lawn:
    return Lawn.model_validate({"name": f"lawn {number}", "folder": Path(f"lawn-{number}")})


def spots(number: int, jobs: list[Job]) -> LawnSpots:
    return LawnSpots(Path(f"lawn-{number}"), lawn(number), tuple(jobs), 0, {})


@settings(deadline=None, max_examples=25)
@given(st.lists(JOBS, min_size=1, max_size=3), st.floats(0, 300))
def test_the_order_is_the_sum_of_its_parts_and_within_the_budget(all_jobs, money):
    parts = [spots(number, jobs) for number, jobs in enumerate(all_jobs)]
    plan = plan_lawns(parts, money=money, price_per_m3=60.0, delivery_price=40.0)
    assert abs(sum(one.sand_m3 for one in plan.lawns) - plan.order.volume_m3) < 1e-9
    assert plan.order.cost is not None and plan.order.cost <= money + 1e-6
    for one in plan.lawns:
        own = {job.key: job for job in one.jobs}
        assert all(0 < count <= own[key].passes for key, count in one.passes.items())
    assert all(line and "{" not in line for line in plan_lines(plan))


@settings(deadline=None, max_examples=15)
@given(JOBS, st.floats(50, 300))
def test_of_one_lawn_it_is_the_lawns_own_plan(jobs, money):
    plan = plan_lawns([spots(1, jobs)], money=money, price_per_m3=60.0, delivery_price=40.0)
    budget = budget_of(lawn(1), money=money, price_per_m3=60.0, delivery_price=40.0)
    alone = plan_spending(jobs, budget)
    expected = alone.seasons[0].benefit if alone.seasons else 0.0
    got = sum(job.benefit / job.passes * plan.lawns[0].passes.get(job.key, 0) for job in jobs)
    assert abs(got - expected) < 1e-6


def test_the_cost_names_every_delivery_in_it():
    """By hand: 20 L in two passes are one scoop of 0.4 m3 at 60, 24, and two deliveries at 40."""
    plan = plan_lawns([spots(1, [Job(1, 0.02, 2, 1.0)])], price_per_m3=60.0, delivery_price=40.0)
    assert any("104 for 1 loader scoop of 0.4 m³, 2 deliveries in it" in line for line in plan_lines(plan))
