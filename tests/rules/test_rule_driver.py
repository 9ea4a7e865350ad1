"""Rules on the driver: eligible or not, and no figure of a child."""

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clubsetup.quantities.uncertainty import Estimate
from events.rules import (
    DecisionRule,
    Facts,
    Outcome,
    rule_from,
)
from events.rules.driver import DriverAge

GUARDED = DecisionRule.GUARDED


def driver_age(params: dict[str, Any]) -> DriverAge:
    rule = rule_from("driver_age", params)
    assert isinstance(rule, DriverAge)
    return rule


class TestDriverAge:
    days = st.dates(date(2020, 1, 1), date(2035, 12, 31))
    births = st.dates(date(2000, 1, 1), date(2020, 1, 1))

    def rule(self, **params: Any) -> DriverAge:
        return driver_age({"at_least": 5, "at_most": 8, **params})

    @given(births, days, st.sampled_from(["event_day", "year_start", "year_end"]))
    def test_against_counting_birthdays(self, born: date, day: date, reckoned: str) -> None:
        """Age counted another way: birthdays reached by the day the class reckons on."""
        on = {
            "event_day": day,
            "year_start": date(day.year, 1, 1),
            "year_end": date(day.year, 12, 31),
        }[reckoned]
        age = on.year - born.year - ((on.month, on.day) < (born.month, born.day))
        assert self.rule(reckoned=reckoned).eligible(born, day) == (5 <= age <= 8)

    def test_on_the_birthday(self) -> None:
        rule, day = self.rule(), date(2026, 6, 14)
        assert rule.born_between(day) == (date(2017, 6, 15), date(2021, 6, 14))
        assert rule.eligible(date(2021, 6, 14), day)
        assert not rule.eligible(date(2021, 6, 15), day)
        assert rule.eligible(date(2017, 6, 15), day)
        assert not rule.eligible(date(2017, 6, 14), day)

    def test_born_on_the_29th_of_february(self) -> None:
        """Five on 1 March of a common year (common practice, no source)."""
        rule = self.rule()
        assert not rule.eligible(date(2016, 2, 29), date(2021, 2, 28))
        assert rule.eligible(date(2016, 2, 29), date(2021, 3, 1))
        assert rule.eligible(date(2019, 2, 28), date(2024, 2, 29))

    def test_open_at_one_end(self) -> None:
        day = date(2026, 6, 14)
        oldest = driver_age({"at_most": 16}).born_between(day)
        assert (oldest.first, oldest.last) == (date(2009, 6, 15), None)
        youngest = driver_age({"at_least": 5})
        assert youngest.eligible(day - timedelta(days=40 * 365), day)

    def test_words(self) -> None:
        assert self.rule().words() == "Driver aged 5 to 8 on the day of the event"
        assert rule_from("driver_age", {"at_least": 5, "reckoned": "year_start"}).words() == (
            "Driver aged at least 5 on 1 January of the year"
        )
        assert rule_from("driver_age", {"at_most": 16}).words().startswith("Driver aged at most 16")

    @pytest.mark.parametrize("eligible", [True, False])
    def test_tells_no_age(self, eligible: bool) -> None:
        result = self.rule().check(Facts(age_eligible=eligible))
        assert result.evidence() == {}
        assert not any(letter.isdigit() for letter in result.sentence)


class TestDriverWeight:
    rule = rule_from("driver_weight_band", {"at_least": "30", "at_most": "45"})

    @pytest.mark.parametrize(
        ("kg", "how", "outcome"),
        [
            (30.0, DecisionRule.READING, Outcome.MEETS),
            (29.9, DecisionRule.READING, Outcome.FAILS),
            (45.1, DecisionRule.READING, Outcome.FAILS),
            (45.1, GUARDED, Outcome.TOO_CLOSE),
        ],
    )
    def test_outcome_without_figures(self, kg: float, how: DecisionRule, outcome: Outcome) -> None:
        result = self.rule.check(Facts(driver_weight=Estimate(kg, 0.1)), how)
        assert result.outcome is outcome
        assert result.evidence() == {}
        assert not any(letter.isdigit() for letter in result.sentence)
