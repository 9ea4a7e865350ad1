"""Block charts against the textbook formulas of the additive model, and by simulation."""

import itertools
import math
from collections.abc import Sequence
from statistics import fmean
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cars.mechanics.errors import BadInput, TooThin
from cars.mechanics.kingpin import BlockChart, BlockReading
from tests.examples import examples

TOP = ("0", "1", "2", "3")
BOTTOM = ("a", "b", "c")


def full_chart(angles: list[float], repeats: int = 1) -> BlockChart:
    settings = list(itertools.product(TOP, BOTTOM)) * repeats
    return BlockChart([BlockReading(m, a) for m, a in zip(settings, angles, strict=True)])


class TestOneBlock:
    def test_expected_is_the_mean_at_that_mark(self) -> None:
        chart = BlockChart([(("0",), 1.0), (("0",), 1.4), (("1",), 3.0), (("1",), 3.2)])
        choice = chart.expected(("0",), target=2.0)
        assert choice.angle == pytest.approx(1.2)
        assert choice.miss == pytest.approx(-0.8)
        assert choice.times_read == 2

    def test_uncertainty_of_one_more_reading(self) -> None:
        """One-way classification: s sqrt(1 + 1/n), s pooled over the marks (textbook)."""
        chart = BlockChart([(("0",), 1.0), (("0",), 1.4), (("1",), 3.0), (("1",), 3.2)])
        s = math.sqrt((0.08 + 0.02) / 2)
        assert chart.dof == 2
        assert chart.residual == pytest.approx(s)
        assert chart.expected(("1",)).u == pytest.approx(s * math.sqrt(1.5))

    def test_never_surer_than_the_gauge(self) -> None:
        """Common practice, no source: a digital gauge repeats within about 0.1 degree."""
        chart = BlockChart([(("0",), 2.0)] * 5)
        assert chart.residual == pytest.approx(0.1 / math.sqrt(3))
        assert chart.expected(("0",)).u >= 0.1 / math.sqrt(3)


class TestTwoBlocks:
    @given(st.lists(st.floats(-5, 5), min_size=12, max_size=12))
    def test_a_full_chart_is_row_plus_column_less_mean(self, angles: list[float]) -> None:
        """Balanced two-way additive model, textbook: mean_i. + mean_.j - mean.."""
        chart = full_chart(angles)
        table = np.reshape(angles, (4, 3))
        for i, j in itertools.product(range(4), range(3)):
            wanted = table[i].mean() + table[:, j].mean() - table.mean()
            assert chart.expected((TOP[i], BOTTOM[j])).angle == pytest.approx(wanted, abs=1e-9)

    @given(st.lists(st.floats(-5, 5), min_size=24, max_size=24))
    def test_its_uncertainty(self, angles: list[float]) -> None:
        """s sqrt(1 + (I + J - 1)/n), n - I - J + 1 degrees of freedom."""
        chart = full_chart(angles, repeats=2)
        cell = chart.expected((TOP[2], BOTTOM[1]))
        fitted = [chart.expected(marks).angle for marks in itertools.product(TOP, BOTTOM)] * 2
        rss = sum((a - f) ** 2 for a, f in zip(angles, fitted, strict=True))
        assert chart.dof == 24 - 6
        assert chart.residual == pytest.approx(max(math.sqrt(rss / 18), 0.1 / math.sqrt(3)))
        assert cell.u == pytest.approx(chart.residual * math.sqrt(1 + 6 / 24))

    def test_an_unread_corner_of_the_chart_is_told_by_the_others(self) -> None:
        chart = BlockChart([(("0", "a"), 1.0), (("1", "a"), 2.0), (("0", "b"), 1.5)])
        told = chart.expected(("1", "b"))
        assert told.angle == pytest.approx(2.5)
        assert told.times_read == 0
        assert told.u > chart.expected(("0", "a")).u

    def test_marks_that_nothing_links_are_not_guessed(self) -> None:
        chart = BlockChart([(("0", "a"), 1.0), (("1", "b"), 2.0)])
        assert set(chart.unknown) == {("0", "b"), ("1", "a")}
        with pytest.raises(TooThin) as caught:
            chart.expected(("0", "b"))
        assert caught.value.quantity == "marks"

    def test_finds_hidden_effects_through_noise(self) -> None:
        """2000 simulated cars: the stated uncertainty covers the next reading as it says."""
        rng = np.random.default_rng(20)
        settings = list(itertools.product(TOP, BOTTOM)) * 2
        scores = []
        for _ in range(2000):
            top, bottom = rng.normal(0, 1, 4), rng.normal(0, 1, 3)
            truth = {m: top[TOP.index(m[0])] + bottom[BOTTOM.index(m[1])] for m in settings}
            chart = BlockChart([(m, truth[m] + rng.normal(0, 0.15)) for m in settings])
            choice = chart.expected(("1", "b"))
            scores.append((truth["1", "b"] + rng.normal(0, 0.15) - choice.angle) / choice.u)
        # Student t with 18 degrees of freedom: 95 % within 2.101, standard deviation 1.061.
        assert fmean(abs(score) < 2.101 for score in scores) == pytest.approx(0.95, abs=0.02)
        assert np.std(scores) == pytest.approx(1.061, abs=0.06)


class TestSuggest:
    def chart(self) -> BlockChart:
        angles = [t + 0.3 * b for t in range(4) for b in range(3)] * 2
        noise = [0.1, -0.1, 0.0, 0.1, 0.0, -0.1] * 4
        return full_chart([a + n for a, n in zip(angles, noise, strict=True)], repeats=2)

    def test_nearest_first(self) -> None:
        chart = self.chart()
        suggestion = chart.suggest(2.25, most=12)
        misses = [round(abs(choice.miss), 9) for choice in suggestion.choices]
        assert misses == sorted(misses)
        assert len(misses) == 12
        assert suggestion.choices[0].marks == ("2", "b")
        for choice in suggestion.choices:
            assert choice.angle - 2.25 == pytest.approx(choice.miss)

    def test_a_full_chart_asks_for_nothing(self) -> None:
        suggestion = self.chart().suggest(2.25)
        assert (suggestion.thin, suggestion.measure_next, suggestion.why) == (False, None, "")
        assert suggestion.within_reach
        assert len(suggestion.choices) == 5

    def test_out_of_reach_says_so_and_still_gives_the_nearest(self) -> None:
        suggestion = self.chart().suggest(9)
        assert not suggestion.within_reach
        assert suggestion.choices[0].marks == ("3", "c")

    def test_reach_ends_where_the_uncertainty_does(self) -> None:
        chart = self.chart()
        lowest, highest = chart.expected(("0", "a")), chart.expected(("3", "c"))
        for end, outward in ((lowest, -1), (highest, 1)):
            assert chart.suggest(end.angle + outward * 1.9 * end.u).within_reach
            assert not chart.suggest(end.angle + outward * 2.1 * end.u).within_reach

    def test_the_surer_of_two_as_near(self) -> None:
        chart = BlockChart([(("0",), 1.0), (("1",), 1.0), (("1",), 1.0)])
        assert chart.suggest(1.0).choices[0].marks == ("1",)

    def test_thin_for_want_of_a_link(self) -> None:
        chart = BlockChart([(("0", "a"), 1.0), (("1", "b"), 2.0), (("2", "b"), 2.6)])
        suggestion = chart.suggest(1.5)
        assert suggestion.thin
        assert suggestion.measure_next in chart.unknown
        linked = BlockChart([*readings_of(chart), (suggestion.measure_next, 1.5)])
        assert not linked.unknown

    def test_the_listed_but_never_tried_is_asked_for(self) -> None:
        chart = BlockChart([(("0",), 1.0), (("0",), 1.1)], marks=[("0", "1")])
        suggestion = chart.suggest(2)
        assert suggestion.measure_next == ("1",)
        assert "1 of 2" in suggestion.why

    def test_thin_for_want_of_repeats(self) -> None:
        chart = BlockChart([(("0",), 1.0), (("1",), 2.0), (("1",), 2.1)])
        suggestion = chart.suggest(1.0)
        assert suggestion.thin
        assert suggestion.measure_next == ("0",)
        assert "repeats" in suggestion.why

    def test_following_the_advice_ends(self) -> None:
        """From one reading, measuring what is asked for until a known setting gives the target."""
        readings = [BlockReading(("0", "a"), 0.0)]
        for taken in range(1, 30):
            chart = BlockChart(readings, marks=[TOP, BOTTOM])
            asked = chart.suggest(1.1).measure_next
            if asked is None:
                break
            angle = TOP.index(asked[0]) + 0.3 * BOTTOM.index(asked[1]) + 0.05 * (-1) ** taken
            readings.append(BlockReading(asked, angle))
        # No more of the six effects than it takes to get there, and three for the scatter.
        assert taken == 6
        assert chart.suggest(1.1).choices[0].marks == ("1", "a")

    @given(st.floats(-4, 4), st.lists(st.floats(-4, 4), min_size=12, max_size=12))
    def test_every_choice_says_how_sure_it_is(self, target: float, angles: list[float]) -> None:
        for choice in full_chart(angles).suggest(target, most=12).choices:
            assert math.isfinite(choice.angle)
            assert choice.u > 0


def readings_of(chart: BlockChart) -> list[BlockReading]:
    read = [chart.expected(m) for m in chart.settings if m not in chart.unknown]
    return [BlockReading(c.marks, c.angle) for c in read if c.times_read]


class TestManyReadings:
    """A car of many seasons: the same few settings read again and again."""

    @pytest.mark.parametrize("blocks", [1, 2])
    def test_one_setting_is_known_however_often_it_was_read(self, blocks: int) -> None:
        marks = ("2", "1")[:blocks]
        for count in range(1, 2001):
            chart = BlockChart([(marks, 1.5)] * count)
            found = chart.suggest(1.5)
            assert chart.unknown == ()
            assert chart.dof == count - 1
            assert found.choices[0].angle == pytest.approx(1.5)
            assert found.choices[0].u == pytest.approx(chart.residual * math.sqrt(1 + 1 / count))

    @given(
        st.dictionaries(
            st.tuples(st.sampled_from(TOP), st.sampled_from(BOTTOM)),
            st.integers(1, 700),
            min_size=1,
            max_size=12,
        )
    )
    @settings(max_examples=examples(150), deadline=None)
    def test_repeats_change_nothing_of_what_is_known(
        self, counts: dict[tuple[str, ...], int]
    ) -> None:
        """Which settings are determined is a matter of whole numbers: see `exact_rank`."""
        truth = {m: float(TOP.index(m[0])) + 0.3 * BOTTOM.index(m[1]) for m in counts}
        offered = [TOP, BOTTOM]
        many = BlockChart([(m, truth[m]) for m in counts for _ in range(counts[m])], marks=offered)
        rank = exact_rank(list(counts))
        assert many.dof == sum(counts.values()) - rank
        for marks in many.settings:
            known = exact_rank([*counts, marks]) == rank
            assert known == (marks not in many.unknown)
            if known:
                told = many.expected(marks)
                wanted = TOP.index(marks[0]) + 0.3 * BOTTOM.index(marks[1])
                assert told.angle == pytest.approx(wanted, abs=1e-9)
                assert told.u > 0
        assert many.suggest(1.0).choices

    def test_a_chain_of_many_marks_is_known_to_its_end(self) -> None:
        """Each setting shares one mark with the next: the worst conditioned chart there is."""
        chain = [(str(place // 2), str((place + 1) // 2)) for place in range(60)]
        chart = BlockChart([(marks, float(place % 7)) for place, marks in enumerate(chain)])
        assert chart.unknown == ()
        assert chart.dof == 0
        for place, marks in enumerate(chain):
            assert chart.expected(marks).angle == pytest.approx(place % 7, abs=1e-9)

    def test_a_chart_that_tells_of_nothing_says_so(self, monkeypatch: pytest.MonkeyPatch) -> None:
        chart = BlockChart([(("0",), 1.0)])
        monkeypatch.setattr(chart, "_is_known", np.array([False]))
        with pytest.raises(TooThin, match="tells of no setting"):
            chart.suggest(1.0)


def exact_rank(marks: Sequence[tuple[str, ...]]) -> int:
    """Rank of mean, top and bottom effects over these settings, without any rounding.

    The settings are the edges of a graph between marks; its rank is marks less components
    (textbook, rank of an incidence matrix), and the mean adds nothing to it.
    """
    parent: dict[str, str] = {}

    def root(mark: str) -> str:
        parent.setdefault(mark, mark)
        while parent[mark] != mark:
            mark = parent[mark]
        return mark

    joined = 0
    for top, bottom in marks:
        one, other = root(f"top {top}"), root(f"bottom {bottom}")
        if one != other:
            parent[one] = other
            joined += 1
    return joined


class TestRefusals:
    def test_an_empty_chart(self) -> None:
        with pytest.raises(TooThin) as caught:
            BlockChart([])
        assert caught.value.quantity == "block readings"

    @pytest.mark.parametrize("angle", [math.nan, math.inf, 70.0])
    def test_an_angle_that_is_none(self, angle: float) -> None:
        with pytest.raises(BadInput) as caught:
            BlockChart([(("0",), angle)])
        assert caught.value.quantity == "angle"

    @pytest.mark.parametrize(
        "readings",
        [
            [((), 1.0)],
            [(("",), 1.0)],
            [("ab", 1.0)],
            [(("0",), 1.0), (("0", "a"), 1.0)],
        ],
    )
    def test_marks_that_do_not_fit(self, readings: list[Any]) -> None:
        with pytest.raises(BadInput) as caught:
            BlockChart(readings)
        assert caught.value.quantity == "marks"

    @pytest.mark.parametrize("marks", [[("1", "2")], [("0",), ("a",)], [TOP * 2000]])
    def test_a_list_of_marks_that_does_not_fit(self, marks: list[Any]) -> None:
        with pytest.raises(BadInput) as caught:
            BlockChart([(("9",), 1.0)], marks=marks)
        assert caught.value.quantity == "marks"

    def test_too_many_settings(self) -> None:
        many = [str(mark) for mark in range(100)]
        with pytest.raises(BadInput, match="more than a chart can hold"):
            BlockChart([(("0", "0"), 1.0)], marks=[many, many])

    def test_marks_that_are_not_on_the_blocks(self) -> None:
        with pytest.raises(BadInput, match="not on these blocks"):
            BlockChart([(("0",), 1.0)]).expected(("7",))

    @pytest.mark.parametrize(
        ("arguments", "quantity"),
        [({"target": math.nan}, "target"), ({"target": 1.0, "most": 0}, "most")],
    )
    def test_a_question_that_is_none(self, arguments: dict[str, Any], quantity: str) -> None:
        with pytest.raises(BadInput) as caught:
            BlockChart([(("0",), 1.0)]).suggest(**arguments)
        assert caught.value.quantity == quantity
