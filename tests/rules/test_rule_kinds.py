"""Every kind of rule: its words, its parameters, an example car on either side."""

import json
import math
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from events.rules import (
    KINDS,
    DecisionRule,
    Facts,
    Outcome,
    ParameterError,
    PieceSeen,
    Stage,
    UnknownRuleKind,
    Where,
    check_together,
    rule_from,
)
from events.rules.base import register
from events.rules.weight import MinimumWeight

GUARDED = DecisionRule.GUARDED
POUND = 0.45359237
every_kind = pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)


class TestEveryKind:
    """A sweep of the registry: what holds for a kind that somebody adds tomorrow, too."""

    @every_kind
    def test_the_example_car_meets(self, kind):
        for how in DecisionRule:
            assert kind.example().check(kind.example_pass(), how).outcome is Outcome.MEETS

    @every_kind
    def test_the_other_example_car_fails(self, kind):
        for how in DecisionRule:
            assert kind.example().check(kind.example_fail(), how).outcome is Outcome.FAILS

    @every_kind
    def test_without_evidence_nothing_is_checked(self, kind):
        result = kind.example().check(Facts())
        assert result.outcome is Outcome.NOT_CHECKED
        assert result.evidence() == {}
        assert result.sentence.endswith(".")

    @every_kind
    def test_comes_back_from_json(self, kind):
        rule = kind.example()
        kept = json.loads(json.dumps(rule.to_params()))
        assert rule_from(kind.kind, kept) == rule
        assert rule_from(kind.kind, kept).to_params() == kept

    @every_kind
    def test_speaks_in_one_line_in_either_units(self, kind):
        for units in (Units.imperial(), Units.metric()):
            words = kind.example().words(units)
            assert 10 < len(words) < 200
            assert "\n" not in words
            for facts in (kind.example_pass(), kind.example_fail(), Facts()):
                assert 5 < len(kind.example().check(facts, units=units).sentence) < 400

    @every_kind
    def test_evidence_is_json_and_finite(self, kind):
        for facts in (kind.example_pass(), kind.example_fail()):
            evidence = json.loads(json.dumps(kind.example().check(facts).evidence()))
            assert all(math.isfinite(figure) for figure in evidence.values())

    @every_kind
    def test_an_unknown_parameter_is_named(self, kind):
        with pytest.raises(ParameterError) as caught:
            kind.from_params({**kind.example().to_params(), "colour": "red"})
        assert caught.value.parameter == "colour"

    @every_kind
    def test_a_form_can_ask_for_every_parameter(self, kind):
        asked = kind.parameters()
        assert asked.keys() >= kind.example().to_params().keys()
        for parameter in asked.values():
            assert parameter.label
            assert (parameter.sort == "quantity") == (parameter.quantity is not None)
            assert (parameter.sort == "choice") == bool(parameter.choices)

    @every_kind
    def test_each_parameter_refuses_what_it_is_not(self, kind):
        wrong = {"quantity": "heavy", "whole": 2.5, "choice": "never", "yes_no": "yes", "text": 7}
        for name, parameter in kind.parameters().items():
            with pytest.raises(ParameterError) as caught:
                kind.from_params({**kind.example().to_params(), name: wrong[parameter.sort]})
            assert caught.value.parameter == name

    def test_nobody_takes_a_name_twice(self):
        with pytest.raises(ValueError, match="minimum_weight"):
            register(MinimumWeight)

    def test_the_kinds_a_club_needs_are_there(self):
        assert KINDS.keys() >= {
            "minimum_weight", "ballast_marked", "ballast_largest_piece", "ballast_fixed",
            "left_limit", "rear_limit", "cross_limit", "driver_age", "driver_weight_band",
            "length_limit", "required_reading",
        }  # fmt: skip

    def test_an_unknown_kind(self):
        with pytest.raises(UnknownRuleKind, match="best_looking"):
            rule_from("best_looking", {})


class TestParameters:
    @pytest.mark.parametrize("raw", ["nan", "inf", "1e9", "", "heavy", True, [], {}])
    def test_a_quantity_that_is_none(self, raw):
        with pytest.raises(ParameterError) as caught:
            rule_from("minimum_weight", {"minimum": raw})
        assert caught.value.parameter == "minimum"

    @pytest.mark.parametrize("raw", ["154.2214058", 154.2214058])
    def test_a_quantity_is_kept_exactly(self, raw):
        rule = rule_from("minimum_weight", {"minimum": raw})
        assert rule.to_params()["minimum"] == "154.2214058"

    def test_a_needed_one(self):
        with pytest.raises(ParameterError) as caught:
            rule_from("minimum_weight", {"minimum": None})
        assert (caught.value.parameter, caught.value.problem) == ("minimum", "is needed")

    @pytest.mark.parametrize("minimum", ["0", "-5"])
    def test_a_minimum_of_nothing(self, minimum):
        with pytest.raises(ParameterError, match="more than zero"):
            rule_from("minimum_weight", {"minimum": minimum})

    @pytest.mark.parametrize("kind", ["left_limit", "driver_age", "driver_weight_band"])
    def test_a_band_that_nothing_can_meet(self, kind):
        with pytest.raises(ParameterError) as caught:
            rule_from(kind, {"at_least": 60, "at_most": 50})
        assert caught.value.parameter == "at_most"
        with pytest.raises(ParameterError, match="least"):
            rule_from(kind, {})

    @pytest.mark.parametrize("percent", ["0", "100", "-3"])
    def test_a_share_is_between_none_and_all(self, percent):
        with pytest.raises(ParameterError) as caught:
            rule_from("cross_limit", {"at_most": percent})
        assert caught.value.parameter == "at_most"

    def test_text_too_long_to_be_a_measure(self):
        with pytest.raises(ParameterError, match="measure"):
            rule_from("required_reading", {"measure": "x" * 100})
        with pytest.raises(ParameterError, match="measure: is needed"):
            rule_from("required_reading", {"measure": " "})

    def test_a_rule_that_can_stand_only_once(self):
        age, weight = KINDS["driver_age"].example(), KINDS["minimum_weight"].example()
        check_together([age, weight, weight])
        with pytest.raises(ParameterError, match="only once"):
            check_together([age, weight, age])


class TestMinimumWeight:
    def rule(self, **more):
        return rule_from("minimum_weight", {"minimum": "154.2214058", **more})

    def weighed(self, pounds, *, driver_in=True, stage=Stage.AFTER, u=0.09):
        return Facts(stage=stage, driver_in=driver_in, weight=Estimate(pounds * POUND, u))

    def test_words(self):
        assert self.rule().words() == "At least 340 lb with the driver, fuel as it comes"
        words = self.rule(stage="after", with_driver=False).words(Units.metric())
        assert words == "At least 154.22 kg without the driver after the race, fuel as it comes"

    def test_legal_by_two_dry_and_by_four_fuelled(self):
        """Common practice, no source: 342 lb without its 2 lb of fuel, minimum 340 lb."""
        dry, fuelled = self.rule().check(self.weighed(342)), self.rule().check(self.weighed(344))
        assert dry.sentence.startswith("342 lb is 2 lb over the least allowed, 340 lb.")
        assert fuelled.sentence.startswith("344 lb is 4 lb over the least allowed, 340 lb.")
        assert dry.margin == pytest.approx(2 * POUND)

    def test_exactly_on_the_minimum_meets(self):
        result = self.rule().check(self.weighed(340))
        assert result.outcome is Outcome.MEETS
        assert result.sentence.startswith("340 lb is exactly the least allowed, 340 lb.")
        assert result.probability == pytest.approx(0.5)

    def test_a_hair_under_fails_and_the_sentence_shows_the_hair(self):
        result = self.rule().check(self.weighed(339.99))
        assert result.outcome is Outcome.FAILS
        assert "0.01 lb under" in result.sentence

    def test_with_a_guard_band_it_is_too_close(self):
        close = self.weighed(340.2)
        assert self.rule().check(close).outcome is Outcome.MEETS
        result = self.rule().check(close, GUARDED)
        assert result.outcome is Outcome.TOO_CLOSE
        assert "closer than" in result.sentence
        assert "take it again" in result.sentence
        assert result.margin == pytest.approx(0.2 * POUND)

    def test_the_other_stage_does_not_count(self):
        rule = self.rule(stage="after")
        before = self.weighed(338, stage=Stage.ENTRY)
        assert rule.check(before).outcome is Outcome.NOT_CHECKED
        assert rule.check(before).sentence == "Not weighed after the race yet."
        assert rule.check(self.weighed(338)).outcome is Outcome.FAILS
        assert self.rule().check(before).outcome is Outcome.FAILS

    def test_the_driver_must_be_as_the_rule_says(self):
        result = self.rule(with_driver=False).check(self.weighed(342))
        assert result.outcome is Outcome.NOT_CHECKED
        assert "with the driver" in result.sentence
        empty = self.weighed(342, driver_in=False)
        assert self.rule(with_driver=False).check(empty).outcome is Outcome.MEETS
        assert self.rule().check(empty).outcome is Outcome.NOT_CHECKED

    def test_an_exact_weight_needs_no_talk_of_chance(self):
        assert "chance" not in self.rule().check(self.weighed(342, u=0)).sentence


class TestShares:
    @pytest.mark.parametrize("share", ["left", "rear", "cross"])
    def test_looks_at_its_own_share_only(self, share):
        rule = rule_from(f"{share}_limit", {"at_least": "50", "at_most": "55"})
        others = {name: Estimate(70) for name in ("left", "rear", "cross") if name != share}
        assert rule.check(Facts(**others)).outcome is Outcome.NOT_CHECKED
        assert rule.check(Facts(**others, **{share: Estimate(52.5)})).outcome is Outcome.MEETS
        for percent in (49.9, 55.1):
            assert rule.check(Facts(**{share: Estimate(percent)})).outcome is Outcome.FAILS

    def test_words(self):
        rule = rule_from("left_limit", {"at_least": "50", "at_most": "58.5"})
        assert rule.words() == "Left from 50% to 58.5% of the weight"
        assert rule_from("left_limit", {"at_most": 58}).words() == "Left at most 58% of the weight"
        rear = rule_from("rear_limit", {"at_least": "50"})
        assert rear.words() == "Rear at least 50% of the weight"
        assert rule_from("cross_limit", {"at_least": 55, "at_most": 55}).words() == (
            "Cross exactly 55% of the weight"
        )

    def test_near_its_limit_it_says_how_sure(self):
        rule = rule_from("left_limit", {"at_most": "58"})
        result = rule.check(Facts(left=Estimate(58.05, 0.05)))
        assert result.outcome is Outcome.FAILS
        assert "15.9%" in result.sentence
        assert rule.check(Facts(left=Estimate(58.05, 0.05)), GUARDED).outcome is Outcome.TOO_CLOSE


class TestBallastMarked:
    good = PieceSeen(label="7", marked_mass=1.8)

    def check(self, *pieces, params=None, own=(), how=DecisionRule.READING):
        rule = rule_from("ballast_marked", params or {})
        return rule.check(Facts(pieces=pieces, own_labels=own), how)

    def test_no_ballast_is_in_order(self):
        result = self.check()
        assert (result.outcome, result.sentence) == (Outcome.MEETS, "No ballast in the car.")

    def test_counts_what_was_looked_at(self):
        assert self.check(self.good, self.good).sentence == "2 pieces looked at, all in order."

    def test_names_the_piece_and_what_it_lacks(self):
        result = self.check(self.good, PieceSeen(label="7", place="seat back"))
        assert result.outcome is Outcome.FAILS
        assert result.sentence == "Piece marked 7 at seat back: no weight on it."

    def test_says_how_many_more(self):
        assert self.check(PieceSeen(), PieceSeen()).sentence.endswith("And 1 piece more like it.")
        result = self.check(PieceSeen(), PieceSeen(), PieceSeen())
        assert result.sentence.endswith("And 2 pieces more like it.")

    def test_the_weight_may_be_left_out_by_the_rule(self):
        assert self.check(PieceSeen(label="7"), params={"weight_marked": False}).outcome is (
            Outcome.MEETS
        )

    @pytest.mark.parametrize(
        ("label", "outcome"),
        [
            ("7", Outcome.MEETS),
            ("#7", Outcome.MEETS),
            ("Fern Hollow", Outcome.MEETS),
            ("fern  hollow 7", Outcome.MEETS),
            ("77", Outcome.FAILS),
            ("Fern", Outcome.FAILS),
            ("   ", Outcome.FAILS),
        ],
    )
    def test_another_cars_mark_does_not_do(self, label, outcome):
        piece = PieceSeen(label=label, marked_mass=1.8)
        assert self.check(piece, own=("7", "Fern Hollow")).outcome is outcome

    @pytest.mark.parametrize(
        ("weighed", "outcome"),
        [(1.80, Outcome.MEETS), (1.84, Outcome.MEETS), (1.70, Outcome.FAILS), (2.0, Outcome.FAILS)],
    )
    def test_the_marking_must_be_true(self, weighed, outcome):
        piece = PieceSeen(label="7", marked_mass=1.8, weighed_mass=Estimate(weighed, 0.01))
        result = self.check(piece, params={"agree_within": "0.05"})
        assert result.outcome is outcome
        if outcome is Outcome.FAILS:
            assert "marked" in result.sentence
            assert "weighs" in result.sentence

    def test_near_the_edge_of_agreement(self):
        piece = PieceSeen(label="7", marked_mass=1.8, weighed_mass=Estimate(1.845, 0.01))
        params = {"agree_within": "0.05"}
        assert self.check(piece, params=params).outcome is Outcome.MEETS
        assert self.check(piece, params=params, how=GUARDED).outcome is Outcome.TOO_CLOSE

    def test_a_piece_that_was_not_weighed(self):
        result = self.check(self.good, params={"agree_within": "0.05"})
        assert result.outcome is Outcome.NOT_CHECKED


class TestLargestPiece:
    rule = rule_from("ballast_largest_piece", {"at_most": "4.5359237"})

    def check(self, *pieces):
        return self.rule.check(Facts(pieces=pieces))

    def test_the_heaviest_decides(self):
        light, heavy = PieceSeen(marked_mass=1.0), PieceSeen(label="7", marked_mass=5.0)
        result = self.check(light, heavy, light)
        assert result.outcome is Outcome.FAILS
        assert result.value == 5.0
        assert result.sentence.startswith("Piece marked 7: ")

    def test_what_it_weighs_counts_before_what_it_says(self):
        lying = PieceSeen(label="7", marked_mass=1.0, weighed_mass=Estimate(5.0, 0.01))
        assert self.check(lying).outcome is Outcome.FAILS

    def test_an_unknown_weight_is_not_checked(self):
        assert self.check(PieceSeen(marked_mass=1.0), PieceSeen()).outcome is Outcome.NOT_CHECKED

    def test_no_ballast(self):
        assert self.check().outcome is Outcome.MEETS


class TestFixed:
    def test_nobody_tried(self):
        rule = KINDS["ballast_fixed"].example()
        pieces = (PieceSeen(label="7", fixed=True), PieceSeen(label="7"))
        assert rule.check(Facts(pieces=pieces)).outcome is Outcome.NOT_CHECKED

    def test_a_loose_piece_outweighs_one_not_tried(self):
        rule = KINDS["ballast_fixed"].example()
        pieces = (PieceSeen(label="7"), PieceSeen(label="7", fixed=False))
        result = rule.check(Facts(pieces=pieces))
        assert result.outcome is Outcome.FAILS
        assert "must not run" in result.sentence


class TestDriverAge:
    days = st.dates(date(2020, 1, 1), date(2035, 12, 31))
    births = st.dates(date(2000, 1, 1), date(2020, 1, 1))

    def rule(self, **params):
        return rule_from("driver_age", {"at_least": 5, "at_most": 8, **params})

    @given(births, days, st.sampled_from(["event_day", "year_start", "year_end"]))
    def test_against_counting_birthdays(self, born, day, reckoned):
        """Age counted another way: birthdays reached by the day the class reckons on."""
        on = {
            "event_day": day,
            "year_start": date(day.year, 1, 1),
            "year_end": date(day.year, 12, 31),
        }[reckoned]
        age = on.year - born.year - ((on.month, on.day) < (born.month, born.day))
        assert self.rule(reckoned=reckoned).eligible(born, day) == (5 <= age <= 8)

    def test_on_the_birthday(self):
        rule, day = self.rule(), date(2026, 6, 14)
        assert rule.born_between(day) == (date(2017, 6, 15), date(2021, 6, 14))
        assert rule.eligible(date(2021, 6, 14), day)
        assert not rule.eligible(date(2021, 6, 15), day)
        assert rule.eligible(date(2017, 6, 15), day)
        assert not rule.eligible(date(2017, 6, 14), day)

    def test_born_on_the_29th_of_february(self):
        """Five on 1 March of a common year (common practice, no source)."""
        rule = self.rule()
        assert not rule.eligible(date(2016, 2, 29), date(2021, 2, 28))
        assert rule.eligible(date(2016, 2, 29), date(2021, 3, 1))
        assert rule.eligible(date(2019, 2, 28), date(2024, 2, 29))

    def test_open_at_one_end(self):
        day = date(2026, 6, 14)
        oldest = rule_from("driver_age", {"at_most": 16}).born_between(day)
        assert (oldest.first, oldest.last) == (date(2009, 6, 15), None)
        youngest = rule_from("driver_age", {"at_least": 5})
        assert youngest.eligible(day - timedelta(days=40 * 365), day)

    def test_words(self):
        assert self.rule().words() == "Driver aged 5 to 8 on the day of the event"
        assert rule_from("driver_age", {"at_least": 5, "reckoned": "year_start"}).words() == (
            "Driver aged at least 5 on 1 January of the year"
        )
        assert rule_from("driver_age", {"at_most": 16}).words().startswith("Driver aged at most 16")

    @pytest.mark.parametrize("eligible", [True, False])
    def test_tells_no_age(self, eligible):
        result = self.rule().check(Facts(age_eligible=eligible))
        assert result.evidence() == {}
        assert not any(letter.isdigit() for letter in result.sentence)

    @pytest.mark.parametrize("age", [1, 99])
    def test_the_first_and_last_age(self, age):
        assert rule_from("driver_age", {"at_least": age}).words().endswith("day of the event")

    @pytest.mark.parametrize("age", [0, 100])
    def test_an_age_nobody_races_at(self, age):
        with pytest.raises(ParameterError, match="at_least: must be an age"):
            rule_from("driver_age", {"at_least": age})


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
    def test_outcome_without_figures(self, kg, how, outcome):
        result = self.rule.check(Facts(driver_weight=Estimate(kg, 0.1)), how)
        assert result.outcome is outcome
        assert result.evidence() == {}
        assert not any(letter.isdigit() for letter in result.sentence)


class TestLengths:
    def heights(self, **spots):
        return Facts(readings={Where("ride-height", s): Estimate(v, 0.4) for s, v in spots.items()})

    def test_every_spot_must_meet_and_the_worst_is_told(self):
        rule = rule_from("length_limit", {"measure": "ride-height", "at_least": "50.8"})
        result = rule.check(self.heights(LF=60, RF=49, LR=55, RR=70))
        assert result.outcome is Outcome.FAILS
        assert result.sentence.startswith("Ride height RF: ")
        assert result.value == 49
        assert rule.check(self.heights(LF=60, RF=51)).outcome is Outcome.MEETS

    def test_one_spot_only(self):
        rule = rule_from(
            "length_limit", {"measure": "ride-height", "spot": "LF", "at_least": "50.8"}
        )
        assert rule.check(self.heights(LF=60, RF=40)).outcome is Outcome.MEETS
        assert rule.check(self.heights(RF=60)).outcome is Outcome.NOT_CHECKED

    def test_in_inches(self):
        rule = rule_from("length_limit", {"measure": "ride-height", "at_least": "50.8"})
        assert rule.words() == "Ride height at least 2 in"
        result = rule.check(Facts(readings={Where("ride-height", "LF"): Estimate(47.625, 0.4)}))
        assert "1 7/8 in is 1/8 in under the least allowed, 2 in." in result.sentence

    def test_another_measure_does_not_count(self):
        rule = rule_from("length_limit", {"measure": "wheelbase", "at_most": "1300"})
        assert rule.check(self.heights(LF=60)).outcome is Outcome.NOT_CHECKED

    @pytest.mark.parametrize(
        ("params", "named"),
        [
            ({"at_least": "1"}, "measure"),
            ({"measure": "track"}, "at_least"),
            ({"measure": "track", "at_least": "-1"}, "at_least"),
            ({"measure": "track", "at_most": "1", "spot": "roof"}, "spot"),
        ],
    )
    def test_names_what_is_wrong(self, params, named):
        with pytest.raises(ParameterError) as caught:
            rule_from("length_limit", params)
        assert caught.value.parameter == named


class TestRequiredReading:
    seen = Facts(readings={Where("toe", "front"): Estimate(0.0)})

    def test_any_spot_will_do_without_one(self):
        assert rule_from("required_reading", {"measure": "toe"}).check(self.seen).outcome is (
            Outcome.MEETS
        )

    def test_that_spot(self):
        rule = rule_from("required_reading", {"measure": "toe", "spot": "rear"})
        assert rule.check(self.seen).outcome is Outcome.FAILS
        assert rule.words() == "Toe rear must be measured"

    def test_looked_and_found_none(self):
        rule = rule_from("required_reading", {"measure": "toe"})
        assert rule.check(Facts(readings={})).outcome is Outcome.FAILS


@given(
    st.builds(
        PieceSeen,
        label=st.text(max_size=200),
        marked_mass=st.none() | st.floats(0.01, 50),
        weighed_mass=st.none() | st.builds(Estimate, st.floats(0.01, 50), st.floats(0, 1)),
        place=st.text(max_size=200),
        fixed=st.none() | st.booleans(),
    ),
    st.sampled_from(list(DecisionRule)),
)
def test_whatever_is_written_on_a_piece_the_sentence_fits(piece, how):
    for kind in ("ballast_marked", "ballast_largest_piece", "ballast_fixed"):
        result = KINDS[kind].example().check(Facts(pieces=(piece, piece)), how)
        assert 5 < len(result.sentence) < 400


@given(st.floats(0.1, 400), st.floats(0, 2), st.decimals(Decimal("0.1"), 400, places=4))
def test_reading_and_sentence_agree(value, u, minimum):
    rule = rule_from("minimum_weight", {"minimum": str(minimum)})
    result = rule.check(Facts(stage=Stage.ENTRY, driver_in=True, weight=Estimate(value, u)))
    assert (" under the least" in result.sentence) == (result.outcome is Outcome.FAILS)
    assert (result.margin < 0) == (result.outcome is Outcome.FAILS)
