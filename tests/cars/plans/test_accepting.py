"""Found, plan, accept, weigh again, learned: and what must not happen on the way."""

from decimal import Decimal
from unittest.mock import patch

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cars.baselines.actions.chassis import edit_chassis
from cars.catalogue.queries import catalogue
from cars.figures.derived import add_derived, figures_of
from cars.lookups import find_sheet
from cars.mechanics import Corners
from cars.models import CalibrationReset, Change, Plan, Reading, SheetTargetSource
from cars.plans.actions.turns import accept_plan, reset_calibration
from cars.plans.presenters.one_turn import format_learned
from cars.plans.presenters.turns import turn_notes
from cars.plans.queries.calibration import calibration_of
from cars.plans.queries.turns import FIRST, predict_turns, turn_plans, turn_table
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.actions.sheets import close_sheet, correct_sheet
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.cars.plans.evening import TRUE, Evening, make_evening, quarter
from tests.people import People

TURNS = quarter("0.5", "-0.5", "-0.5", "0.5")


def counts() -> tuple[int, int, int]:
    return Plan.objects.count(), Change.objects.count(), Reading.objects.count()


def accept(evening: Evening, turns: list[Decimal] = TURNS, *, weigh: bool = True) -> Plan:
    plan = accept_plan(by=evening.by, sheet=evening.sheet, turns=turns, seen=OVER_ANYTHING)
    evening.turn(Corners.of(float(turn) for turn in turns))
    if weigh:
        evening.weigh()
    return plan


def test_a_bare_sheet_says_what_to_take_first(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief, read=False)
        table = turn_table(evening.sheet, people.chief)
        assert table.missing == [FIRST]
        assert turn_plans(table) == []
        with pytest.raises(WrongState, match="four ride heights"):
            accept_plan(by=people.chief, sheet=evening.sheet, turns=TURNS, seen=OVER_ANYTHING)


def test_three_weights_are_not_enough_and_the_fourth_is_named(
    garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief, read=False)
        evening.take({"weight.LF": "80", "weight.RF": "70", "weight.RR": "75"})
        assert turn_table(evening.sheet, people.chief).missing == ["The weight at LR is not taken."]


def test_weights_alone_are_enough_for_cross(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief, read=False)
        evening.weigh(heights=False)
        table = turn_table(evening.sheet, people.chief)
        plan = turn_plans(table)[-1]
        assert plan.heights is None
        assert [miss.target for miss in plan.misses] == ["cross"]
        assert "Only cross is planned" in turn_notes(table)[0]


def test_without_a_geometry_the_steward_is_named(garage: Garage, people: People) -> None:
    with viewing_as(people.steward.pk):
        edit_chassis(by=people.steward, chassis=garage.chassis, geometry={})
    with viewing_as(people.chief.pk):
        garage.car.refresh_from_db()
        evening = make_evening(garage, people.chief)
        assert "no geometry" in turn_table(evening.sheet, people.chief).missing[0]


def test_springs_and_thread_on_the_sheet_are_used(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        evening.take({"spring-rate.LF": "200", "seat-thread.LR": "1/8"})
        table = turn_table(evening.sheet, people.chief)
        assert table.on_sheet.geometry["spring_rate"][0] == pytest.approx(200 * 0.1751268, rel=1e-5)
        assert table.on_sheet.geometry["spring_rate"][1] == 19.3
        # An eighth above the seat, at 2 mm a turn, whatever the rest.
        assert table.room.minus.lr == pytest.approx(3.175 / 2.0)
        assert table.room.minus.lf == 6.0
        assert all(plan.turns.lr >= -1.5 for plan in turn_plans(table))


def test_thread_let_off_since_it_was_read_is_gone(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        evening.take({"seat-thread.LR": "1/8"})
        accept(evening, quarter("0", "0", "-1", "0"))
        table = turn_table(evening.sheet, people.chief)
        assert table.room.minus.lr == pytest.approx(3.175 / 2.0 - 1.0)
        assert predict_turns(table, Corners(0, 0, -1, 0)).beyond == ("LR",)


def test_plans_bring_cross_and_heights_nearer_with_every_corner_more(
    garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        plans = turn_plans(turn_table(make_evening(garage, people.chief).sheet, people.chief))
        assert [plan.allowed for plan in plans] == [1, 2, 3, 4]
        misses = [plan.miss for plan in plans]
        assert misses == sorted(misses, reverse=True)
        assert misses[-1] < misses[0]


def test_a_car_on_target_needs_no_turning(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief, read=False)
        evening.take(
            {
                **{"weight.LF": "80", "weight.RF": "78", "weight.LR": "90", "weight.RR": "75"},
                **{"ride-height.LF": "2 1/4", "ride-height.RF": "2 3/8"},
                **{"ride-height.LR": "2 1/4", "ride-height.RR": "2 1/2"},
            }
        )
        assert turn_table(evening.sheet, people.chief).on_target
        assert not turn_table(evening.sheet, people.chief, cross=54.0).on_target
        evening.take({"ride-height.RR": "2 3/4"})
        assert not turn_table(evening.sheet, people.chief).on_target


def test_the_cross_one_writes_stands_above_the_targets(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        table = turn_table(evening.sheet, people.chief, cross=55.0)
        assert table.target is not None
        assert table.target.cross is not None
        assert table.target.cross.value == pytest.approx(0.55)


def test_accepting_notes_the_changes_and_writes_no_reading(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        evening = make_evening(garage, people.crew)
        readings = Reading.objects.count()
        plan = accept(evening, quarter("0.5", "0", "-0.25", "0"), weigh=False)
        assert Reading.objects.count() == readings
        made = {change.spot: change for change in evening.sheet.changes.all()}
        assert {spot: change.amount for spot, change in made.items()} == {
            "LF": Decimal("0.5"),
            "LR": Decimal("-0.25"),
        }
        assert all(c.adjuster == "spring-seat" and c.unit == "turn" for c in made.values())
        assert set(plan.started_from) == set(
            evening.sheet.readings.filter(measure__in=["weight", "ride-height"]).values_list(
                "pk", flat=True
            )
        )
        trail = TrailLine.objects.get(on_id=evening.sheet.pk, did="accepted")
        assert trail.detail == {"plan": str(plan.pk), "turns": {"LF": "0.5", "LR": "-0.25"}}


def test_what_is_kept_is_what_was_predicted(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        what = predict_turns(turn_table(evening.sheet, people.chief), Corners(0.5, -0.5, -0.5, 0.5))
        plan = accept(evening, weigh=False)
        assert plan.loads == pytest.approx(list(what.loads))
        assert plan.heights == pytest.approx(list(what.heights or ()))
        assert plan.cross == pytest.approx(what.cross)
        assert plan.u_cross == pytest.approx(what.u_cross)
        figures = add_derived(figures_of(evening.sheet.readings.all()))
        before = next(f.value for key, f in figures.items() if key.measure == "cross")
        assert plan.cross_before == pytest.approx(float(before) / 100)


def test_after_accepting_the_car_must_be_weighed_before_the_next_plan(
    garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        accept(evening, weigh=False)
        table = turn_table(evening.sheet, people.chief)
        assert "again at LF, RF, LR and RR: spring seat LF +1/2 turn" in table.missing[0]
        with pytest.raises(WrongState, match="again at LF"):
            accept_plan(by=people.chief, sheet=evening.sheet, turns=TURNS, seen=OVER_ANYTHING)


def test_a_plan_made_from_other_readings_is_not_accepted(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        seen = turn_table(evening.sheet, people.chief).seen
        evening.take({"weight.LF": "91"})
        before = counts()
        with pytest.raises(WrongState, match="has changed"):
            accept_plan(by=people.chief, sheet=evening.sheet, turns=TURNS, seen=seen)
        assert counts() == before


@pytest.mark.parametrize(
    "turns", [("0", "0", "0", "0"), ("1", "1"), ("21", "0", "0", "0"), ("-20", "20", "20", "-20")]
)
def test_turns_that_make_no_plan_are_refused(
    garage: Garage, people: People, turns: tuple[str, ...]
) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        before = counts()
        with pytest.raises(Invalid):
            accept_plan(
                by=people.chief, sheet=evening.sheet, turns=quarter(*turns), seen=OVER_ANYTHING
            )
        assert counts() == before


def test_without_its_trail_nothing_is_accepted(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        before = counts()
        with (
            patch.object(TrailLine, "save", side_effect=RuntimeError("no trail")),
            pytest.raises(RuntimeError),
        ):
            accept_plan(by=people.chief, sheet=evening.sheet, turns=TURNS, seen=OVER_ANYTHING)
        assert counts() == before


def test_a_closed_sheet_takes_no_plan(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        closed = close_sheet(by=people.chief, sheet=evening.sheet)
        with pytest.raises(WrongState, match="closed"):
            accept_plan(by=people.chief, sheet=closed, turns=TURNS, seen=OVER_ANYTHING)


def test_an_evening_found_plan_accept_weigh_learned(garage: Garage, people: People) -> None:
    """Every plan of the evening is made by what the ones before it taught."""
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        off = []
        for _ in range(2):
            table = turn_table(evening.sheet, people.chief)
            best = turn_plans(table)[-1]
            if not best.adjusters:
                break
            plan = accept(evening, [Decimal(str(turn)) for turn in best.turns])
            weighed = (evening.loads.rf + evening.loads.lr) / sum(evening.loads)
            assert abs(plan.cross - weighed) < 3 * plan.u_cross
            off.append(abs(100 * weighed - 52.0))
        assert off[-1] < 0.5, "on target"
        calibration = calibration_of(garage.car, catalogue())
        assert calibration.learned == len(off)
        assert format_learned(calibration).startswith(f"{len(off)} change")


def test_what_is_learned_comes_near_the_cars_true_rates(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        nothing = calibration_of(garage.car, catalogue())
        for turns in (
            ("2", "0", "0", "0"),
            ("0", "-2", "0", "0"),
            ("0", "0", "2", "0"),
            ("-1", "1", "0", "-2"),
            ("-1", "1", "-2", "2"),
            ("2", "-2", "0", "0"),
        ):
            accept(evening, quarter(*turns))
        calibration = calibration_of(garage.car, catalogue())
        assert calibration.learned == 6
        assert calibration.calibrated is not None
        for name in ("front", "rear"):
            log = getattr(calibration.calibrated.u_log, name)
            value, truth = getattr(calibration.calibrated.multipliers, name), getattr(TRUE, name)
            assert abs(value / truth - 1) < 3 * log
        assert calibration.within is not None
        assert nothing.within is not None
        assert calibration.within < nothing.within
        assert not any(o.fit and o.fit.flagged for o in calibration.outcomes)
        # The next plan is made with it.
        plan = accept(evening, weigh=False)
        assert plan.learned == 6


def test_the_same_evening_twice_costs_as_many_queries(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        asked = []
        for _ in range(3):
            accept(evening)
            sheet = find_sheet(evening.sheet.pk)
            assert sheet is not None
            with CaptureQueriesContext(connection) as queries:
                turn_plans(turn_table(sheet, people.chief))
            asked.append(len(queries))
        assert asked == [asked[0]] * 3
        assert asked[0] <= 13


def test_something_else_changed_before_weighing_teaches_nothing(
    garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        accept(evening, weigh=False)
        note_change(
            by=people.chief,
            sheet=evening.sheet,
            adjuster="tyre",
            spot="LF",
            amount=Decimal(1),
            unit="1",
        )
        evening.weigh()
        calibration = calibration_of(garage.car, catalogue())
        assert calibration.learned == 0
        assert calibration.outcomes[0].weighed.spoilt is not None


def test_a_further_turn_noted_before_weighing_is_added(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        accept(evening, quarter("1", "0", "0", "0"), weigh=False)
        evening.take({"weight.LF": "80", "weight.RF": "70"})
        note_change(
            by=people.chief,
            sheet=evening.sheet,
            adjuster="spring-seat",
            spot="RR",
            amount=Decimal("0.5"),
            unit="turn",
        )
        evening.turn(Corners(0, 0, 0, 0.5))
        evening.weigh()
        outcome = calibration_of(garage.car, catalogue()).outcomes[0]
        assert outcome.weighed.turns == Corners(1, 0, 0, 0.5)
        assert outcome.is_learned


def test_a_change_after_the_weighing_does_not_touch_what_was_learned(
    garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        accept(evening)
        before = calibration_of(garage.car, catalogue()).outcomes[0].weighed
        note_change(
            by=people.chief,
            sheet=evening.sheet,
            adjuster="tyre",
            spot="LF",
            amount=Decimal(1),
            unit="1",
        )
        evening.take({"weight.LF": "120", "weight.RF": "20"})
        assert calibration_of(garage.car, catalogue()).outcomes[0].weighed == before


def test_three_pads_read_again_are_no_weighing(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        accept(evening, weigh=False)
        typed = evening.typed()
        del typed["weight.RR"]
        take_typed(by=people.chief, sheet=evening.sheet, typed=typed)
        assert calibration_of(garage.car, catalogue()).outcomes[0].is_pending


def test_a_mistyped_pad_is_flagged_by_name(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        for turns in (("2", "0", "0", "0"), ("0", "2", "0", "0"), ("-2", "0", "0", "0")):
            accept(evening, quarter(*turns))
        accept(evening, weigh=False)
        typed = evening.typed()
        typed["weight.RR"] = str(float(typed["weight.RR"]) + 40)
        evening.take(typed)
        fit = calibration_of(garage.car, catalogue()).outcomes[-1].fit
        assert fit is not None
        assert fit.flagged
        assert fit.suspect == "RR load"
        assert calibration_of(garage.car, catalogue()).learned == 3, "it teaches nothing"


def test_a_mistyped_pad_corrected_on_a_new_version_is_learned_from(
    garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        accept(evening, weigh=False)
        typed = evening.typed()
        right = typed["weight.RR"]
        evening.take({**typed, "weight.RR": str(float(right) + 40)})
        closed = close_sheet(by=people.chief, sheet=evening.sheet)
        mended = correct_sheet(by=people.chief, sheet=closed, reason="RR was mistyped.")
        take_typed(by=people.chief, sheet=mended, typed={"weight.RR": right})
        (outcome,) = calibration_of(garage.car, catalogue()).outcomes
        assert outcome.weighed.loads is not None
        assert outcome.weighed.loads.rr == pytest.approx(float(right) * 0.45359237)
        assert outcome.weighed.turns == Corners(0.5, -0.5, -0.5, 0.5)


def test_other_springs_are_another_car(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        accept(evening)
        evening.take({"spring-rate.LF": "150"})
        table = turn_table(evening.sheet, people.chief)
        assert table.calibration is not None
        assert table.learned == 0
        assert table.calibration.outcomes[0].other_springs


def test_a_reset_learns_anew_and_keeps_what_was_observed(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        accept(evening)
        with pytest.raises(Invalid, match="why"):
            reset_calibration(by=people.chief, car=garage.car, reason=" ")
        reset_calibration(by=people.chief, car=garage.car, reason="Another frame.")
        calibration = calibration_of(garage.car, catalogue())
        assert calibration.learned == 0
        assert calibration.reset is not None
        assert calibration.reset.reason == "Another frame."
        assert Plan.objects.count() == 1
        accept(evening)
        assert calibration_of(garage.car, catalogue()).learned == 1
        assert TrailLine.objects.filter(on_id=garage.car.pk, did="reset").count() == 1


def test_without_its_trail_nothing_is_reset(garage: Garage, people: People) -> None:
    with (
        viewing_as(people.chief.pk),
        patch.object(TrailLine, "save", side_effect=RuntimeError("no trail")),
        pytest.raises(RuntimeError),
    ):
        reset_calibration(by=people.chief, car=garage.car, reason="Another frame.")
    with viewing_as(people.chief.pk):
        assert not CalibrationReset.objects.exists()


@pytest.mark.parametrize("who", ["guest", "coach"])
def test_who_only_reads_accepts_and_resets_nothing(
    garage: Garage, people: People, who: str
) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
    by = getattr(people, who)
    with viewing_as(by.pk):
        assert turn_plans(turn_table(evening.sheet, by))
        with pytest.raises(NotAllowed):
            accept_plan(by=by, sheet=evening.sheet, turns=TURNS, seen=OVER_ANYTHING)
        with pytest.raises(NotAllowed):
            reset_calibration(by=by, car=garage.car, reason="No.")
        assert not Plan.objects.exists()


def test_the_plan_aims_where_the_bench_aims(garage: Garage, people: People) -> None:
    """A sheet left at this track, as the bench was started with, before the baseline."""
    with viewing_as(people.chief.pk):
        wanted = make_evening(garage, people.chief, read=False)
        wanted.take({"weight.LF": "70", "weight.RF": "80", "weight.LR": "88", "weight.RR": "70"})
        evening = make_evening(garage, people.chief)
        table = turn_table(evening.sheet, people.chief)
        assert table.target is not None
        assert table.target.cross is not None
        assert table.target.cross.value == pytest.approx(0.52)
        SheetTargetSource.objects.create(
            sheet=evening.sheet, team_id=evening.sheet.team_id, target=wanted.sheet
        )
        table = turn_table(evening.sheet, people.chief)
        assert table.target is not None
        assert table.target.cross is not None
        assert table.target.cross.value == pytest.approx(168 / 308)
        # The baseline's tolerance goes with it.
        assert table.target.cross.tolerance == pytest.approx(0.005)
