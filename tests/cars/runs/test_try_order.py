"""The order of suggestions, which pull against each other, and what is a trial: all pure."""

import itertools
from dataclasses import replace
from decimal import Decimal
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cars.mechanics.helped import Verdict
from cars.models import Suggestion, SuggestionTable
from cars.runs.queries.change_judges import RuleOutcome, RuleThen
from cars.runs.queries.predicted_changes import PredictedChange
from cars.runs.queries.suggestions import Felt
from cars.runs.queries.trials import RunTried, Stretch, Tries, is_at, stretches
from cars.runs.queries.try_this import Pull, TryThis, in_order, once_each, pull_of

VERDICTS: list[Verdict] = ["faster", "slower", "cannot tell"]
SEAT, DAMPER = ("spring-seat", "RF"), ("damper", "LR")
CLUBS = SuggestionTable()
TEAMS = SuggestionTable(team_id=UUID(int=1))
COACHS = SuggestionTable(coach_id=UUID(int=2))
WOULD_FAIL = RuleThen("Cross at most 55%", RuleOutcome.FAILS, "56% is over.", leaves=True)


def row(
    number: int = 1, spot: tuple[str, str] = SEAT, amount: str = "0.5", **given: object
) -> Suggestion:
    defaults: dict[str, object] = {"table": CLUBS, "minutes": 3, "position": number}
    return Suggestion(
        pk=UUID(int=number),
        adjuster=spot[0],
        spot=spot[1],
        amount=Decimal(amount),
        unit="turn",
        **{**defaults, **given},
    )


@st.composite
def suggestions(draw: st.DrawFn) -> list[TryThis]:
    """Some, each of another change or another way of one."""
    found = []
    for number in range(draw(st.integers(1, 8))):
        table = draw(st.sampled_from([CLUBS, TEAMS, COACHS]))
        amount = draw(st.sampled_from(["0.5", "-0.5"]))
        spot = draw(st.sampled_from([SEAT, DAMPER, ("pressure", "RF"), ("lead", "rear")]))
        minutes = draw(st.integers(1, 20))
        one = row(number + 1, spot, amount, table=table, minutes=minutes)
        verdict = draw(st.sampled_from(VERDICTS))
        refused = draw(st.sampled_from(["", "LF would come off the ground."]))
        rules = draw(st.sampled_from([(), (WOULD_FAIL,)]))
        predicted = PredictedChange(refused=refused)
        found.append(TryThis((one,), predicted, rules=rules, tries=Tries({verdict: 1})))
    return found


class TestOrder:
    @given(suggestions())
    def test_what_is_struck_out_never_leads(self, found: list[TryThis]) -> None:
        out = [one.is_out for one in in_order(found, None, {})]
        assert out == sorted(out)

    @given(suggestions(), st.randoms(use_true_random=False))
    def test_it_is_total_and_does_not_hang_on_how_they_came(
        self, found: list[TryThis], random: object
    ) -> None:
        mixed = list(found)
        random.shuffle(mixed)  # type: ignore[attr-defined]
        ordered = in_order(found, None, {})
        assert [one.row.pk for one in in_order(mixed, None, {})] == [o.row.pk for o in ordered]
        ranks = [one.rank for one in ordered]
        assert all(one < other for one, other in itertools.pairwise(ranks))

    def test_our_own_record_comes_before_whose_it_is_and_how_long_it_takes(self) -> None:
        quick = TryThis((row(1, ("pressure", "RF"), minutes=1),), PredictedChange())
        teams = TryThis((row(2, ("lead", "rear"), table=TEAMS),), PredictedChange())
        coachs = TryThis((row(3, ("lead", "rear"), "-1", table=COACHS),), PredictedChange())
        tried = TryThis((row(4, DAMPER, minutes=9),), PredictedChange(), tries=Tries({"faster": 2}))
        slower = replace(quick, rows=(row(5, SEAT),), tries=Tries({"slower": 1, "cannot tell": 4}))
        ordered = in_order([slower, quick, replace(coachs), teams, tried], None, {})
        # The lead is suggested both ways: it stands after what is not.
        assert [one.row.position for one in ordered] == [4, 1, 2, 3, 5]

    def test_the_same_change_for_two_places_is_one(self) -> None:
        entry, exit_ = row(1, place="entry"), row(2, place="exit")
        other = row(3, amount="-0.5")
        assert once_each([entry, other, exit_]) == [(entry, exit_), (other,)]


class TestPull:
    @pytest.mark.parametrize(
        ("felt", "pull"),
        [
            (Felt(entry="pushes", exit="loose"), Pull(("entry", "exit"), ("pushes", "loose"))),
            (
                Felt(entry="loose", middle="turns", exit="pushes"),
                Pull(("entry", "exit"), ("loose", "pushes")),
            ),
            (Felt(entry="loose", middle="pushes"), Pull(("entry", "middle"), ("loose", "pushes"))),
            (Felt(entry="loose", exit="loose"), None),
            (Felt(entry="turns", exit="loose"), None),
            (Felt(), None),
        ],
    )
    def test_two_places_that_ask_for_opposite_changes(self, felt: Felt, pull: Pull | None) -> None:
        assert pull_of(felt) == pull

    def test_what_acts_on_one_place_alone_is_named_by_all_rows_of_the_tables(self) -> None:
        pull = Pull(("entry", "exit"), ("pushes", "loose"))
        found = [
            TryThis((row(1, DAMPER, place="entry"),), PredictedChange()),
            TryThis((row(2, SEAT, place="exit"),), PredictedChange()),
            TryThis((row(3, ("lead", "rear")),), PredictedChange()),
            TryThis((row(4, ("toe", "front"), place="middle"),), PredictedChange()),
        ]
        acts_on = {
            DAMPER: {"entry"},
            SEAT: {"exit", "middle"},
            ("lead", "rear"): {""},
            ("toe", "front"): {"middle"},
        }
        alone = {one.row.position: one.alone for one in in_order(found, pull, acts_on)}
        assert alone == {1: "entry", 2: "", 3: "", 4: ""}
        assert {one.alone for one in in_order(found, None, acts_on)} == {""}


def ran(number: int, changes: dict[tuple[str, str], str], **given: object) -> RunTried:
    """The run of that number; all of one day, car and driver unless it is said."""
    fields: dict[str, object] = {"car": UUID(int=1), "day": 1, "sheet": UUID(int=2)}
    fields |= {"driver": UUID(int=3), "felt": {"entry": "loose"}}
    return RunTried(
        pk=UUID(int=100 + number),
        ran_at=number,
        setup={spot: Decimal(amount) for spot, amount in changes.items()},
        **{**fields, **given},  # type: ignore[arg-type]
    )


UP, MORE, BOTH = {SEAT: "0.5"}, {SEAT: "1"}, {SEAT: "0.5", DAMPER: "1"}


class TestStretches:
    def test_there_and_back_is_one(self) -> None:
        runs = [ran(1, {}), ran(2, UP), ran(3, {}), ran(4, UP)]
        assert stretches(runs) == [Stretch(SEAT, 1, {"entry": "loose"}, (0, 2), (1, 3))]

    def test_taken_off_is_the_other_way(self) -> None:
        (one,) = stretches([ran(1, UP), ran(2, {})])
        assert (one.way, one.before, one.after) == (-1, (0,), (1,))

    def test_a_third_set_up_begins_the_next(self) -> None:
        runs = [ran(1, {}), ran(2, UP), ran(3, UP), ran(4, MORE)]
        assert [(one.before, one.after) for one in stretches(runs)] == [
            ((0,), (1, 2)),
            ((1, 2), (3,)),
        ]

    def test_two_things_changed_at_once_are_none(self) -> None:
        runs = [ran(1, {}), ran(2, BOTH), ran(3, UP)]
        assert [(one.spot, one.way) for one in stretches(runs)] == [(DAMPER, -1)]

    @pytest.mark.parametrize(
        "other",
        [{"day": 2}, {"car": UUID(int=9)}, {"sheet": UUID(int=9)}, {"driver": None}],
    )
    def test_another_day_car_sheet_or_driver_ends_it(self, other: dict[str, object]) -> None:
        assert stretches([ran(1, {}), ran(2, UP, **other)]) == []

    def test_it_is_at_the_feel_of_the_last_run_before_the_change(self) -> None:
        runs = [ran(1, {}), ran(2, {}, felt={"exit": "pushes"}), ran(3, UP)]
        (one,) = stretches(runs)
        assert is_at(one.felt, {"exit": "pushes"})
        assert is_at(one.felt, {"anywhere": "pushes"})
        assert is_at(one.felt, {"hands": ""})
        assert not is_at(one.felt, {"entry": "loose"})
        assert not is_at(one.felt, {"anywhere": "loose"})

    @given(st.lists(st.sampled_from([0, 1, 2, 3]), max_size=14), st.data())
    def test_each_run_stands_on_its_own_side_and_one_thing_alone_differs(
        self, setups: list[int], data: st.DataObject
    ) -> None:
        known: list[dict[tuple[str, str], str]] = [{}, UP, MORE, BOTH]
        runs = [ran(number, known[which]) for number, which in enumerate(setups)]
        for one in stretches(runs):
            before, after = ({setups[p] for p in group} for group in (one.before, one.after))
            assert len(before) == len(after) == 1
            assert before != after
            places = sorted((*one.before, *one.after))
            assert places == list(range(places[0], places[-1] + 1))
            assert places[0] in one.before
        changed = sum(one != other for one, other in itertools.pairwise(setups))
        assert len(stretches(runs)) <= changed
