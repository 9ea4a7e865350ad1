"""The demo's true effects, which its generator knows, beside what 'did it help' says of its runs.

The rule for 'most': were each interval to hold its truth with a chance of 95 %, fewer than the
bound would hold it in one of a thousand such demos (binomial). The runs are what the fixture makes
them: nothing here is drawn anew.
"""

from collections.abc import Sequence

import pytest
from scipy.stats import binom

from events.demo.driving import Driving
from tests.events.driven_trials import Tried, demo_truth, on_each_day, over_all_days

ONE_OF = 1e-3


@pytest.fixture(scope="module")
def days() -> list[Tried]:
    return list(on_each_day(demo_truth()))


@pytest.fixture(scope="module")
def changes() -> list[Tried]:
    return list(over_all_days(demo_truth()))


def most(tried: Sequence[Tried]) -> bool:
    held = sum(one.covers for one in tried)
    return held >= binom.ppf(ONE_OF, len(tried), 0.95)


def table(tried: Sequence[Tried]) -> str:
    return "\n" + "\n".join(map(str, tried))


def test_the_intervals_of_most_days_hold_the_truth(days: list[Tried]) -> None:
    assert len(days) > 70
    assert most(days), table(days)


def test_the_intervals_of_most_changes_hold_the_truth(changes: list[Tried]) -> None:
    assert len(changes) >= 12
    assert most(changes), table(changes)


def test_nothing_slower_is_called_faster_nor_the_other_way_round(
    days: list[Tried], changes: list[Tried]
) -> None:
    contrary = [one for one in (*days, *changes) if one.is_contrary]
    assert not contrary, table(contrary)


def test_seasons_tell_most_of_what_a_day_does_not(days: list[Tried], changes: list[Tried]) -> None:
    """What is worth a twentieth or more: of a day's trials a few are told, of all days most."""

    def told(tried: Sequence[Tried]) -> float:
        worth = [one for one in tried if abs(one.effect.seconds) >= 0.05]
        called = [one for one in worth if one.said.verdict in ("faster", "slower")]
        return len(called) / len(worth)

    assert told(days) < 0.5 < told(changes)


def test_what_happened_is_all_there() -> None:
    """Suggestions followed and not, kept and put back, pairs, a crash, worn tyres, damp days."""
    truth = demo_truth()
    first = list(Driving(truth, truth.cars["31"]).seasons())
    assert len(first) == 180
    tried = [day.trial for day in first if day.trial]
    assert {effect.advised for effect in tried} == {True, False}
    turned = [change for day in first for change in day.turned]
    assert any(change.puts_back for change in turned)
    assert any(day.turned and day.turned[0].adjuster == "tyre" for day in first)
    assert {"damper", "spring"} <= {change.adjuster for change in turned}
    assert sum(len(day.runs) == 2 for day in first) > 5
    (crash,) = (day for day in first if day.weighed_before)
    (hit,) = (run for run in crash.runs if run.damage)
    assert (hit.damage, hit.spots, hit.order) == ("hit the wall", ("RF",), 3)
    assert any(day.state == "damp" for day in first)
    assert {day.by_hand for day in first} == {True, False}
    # The driver learns: a season's practice is quicker than that before.
    seasons = [first[:60], first[60:120], first[120:]]
    best = [
        min(min(run.seconds) for day in season for run in day.runs if run.seconds)
        for season in seasons
    ]
    assert best == sorted(best, reverse=True)


def test_the_same_fixture_gives_the_same_days() -> None:
    truth = demo_truth()
    for car in truth.cars.values():
        assert list(Driving(truth, car).seasons()) == list(Driving(truth, car).seasons())
