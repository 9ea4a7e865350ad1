"""Runs: what stands of one, what it keeps of the car, and who may write it."""

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from cars.mechanics import Corners
from cars.models import Feel, Laps, Run, RunDetails, TrackChange
from cars.runs.actions.runs import (
    FeelSaid,
    NotedMeanwhile,
    RunFacts,
    TimedLaps,
    correct_run,
    note_feel,
    note_laps,
    note_run,
    strike_run,
)
from cars.runs.actions.track_changes import note_track_change
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.sheets import close_sheet, correct_sheet, open_sheet
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.cars.plans.evening import Evening
from tests.people import People

LOOSE = FeelSaid("loose", "turns", "", "straight", "good")
TIMED = TimedLaps([Decimal("7.52"), Decimal("7.41")], ["first", ""], "transponder", "7.52 7.41")


PAVED = RunFacts(surface="paved")


def noted(evening: Evening, facts: RunFacts = RunFacts(), **given: Any) -> Run:  # noqa: B008
    return note_run(by=evening.by, car=evening.garage.car, facts=facts, **given)


def turned(evening: Evening) -> None:
    note_track_change(
        by=evening.by,
        sheet=evening.sheet,
        adjuster="spring-seat",
        spot="RF",
        amount=Decimal("0.5"),
        unit="turn",
    )


def test_a_run_keeps_the_car_as_it_stood_whatever_comes_later(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        turned(evening)
        run = noted(evening, said=LOOSE, laps=TIMED)
        turned(evening)
        evening.weigh()
        run.refresh_from_db()
        assert [change["amount"] for change in run.car_state["changes"]] == ["0.5000"]
        assert run.sheet == evening.sheet
        second = noted(evening)
        assert len(second.car_state["changes"]) == 2
        assert second.car_state["figures"]["cross.car"] != run.car_state["figures"]["cross.car"]


def test_a_run_noted_late_keeps_the_car_of_its_time(evening: Evening, people: People) -> None:
    """What was turned and set since it ran is none of it, nor what is corrected of its time."""
    with viewing_as(evening.by.pk):
        turned(evening)
        ran_at = timezone.now()
        turned(evening)
        close_sheet(by=evening.by, sheet=evening.sheet)
        day = timezone.localdate(ran_at, evening.garage.car.team.club.zone())
        later = open_sheet(
            by=evening.by, car=evening.garage.car, role="set", made_on=day, surface="paved"
        )
        late = noted(evening, ran_at=ran_at)
        assert late.sheet == evening.sheet
        assert len(late.car_state["changes"]) == 1
        assert noted(evening).sheet == later
        between = ran_at + (TrackChange.objects.latest("made_at").made_at - ran_at) / 2
        correct_run(
            by=evening.by, run=late, facts=RunFacts(), expected=OVER_ANYTHING, ran_at=between
        )
        late.refresh_from_db()
        assert late.ran_at == between
        for wrong in (timezone.now(), ran_at - timedelta(days=1)):
            with pytest.raises(Invalid, match="the car stood otherwise") as refused:
                correct_run(
                    by=evening.by, run=late, facts=RunFacts(), expected=OVER_ANYTHING, ran_at=wrong
                )
            assert refused.value.field == "ran_at"


def test_a_sheet_typed_in_on_a_later_day_stands_from_its_own_day(evening: Evening) -> None:
    """The evening's is of March 14 and was opened when this test ran; a correction is as old."""
    noon = datetime(2026, 3, 14, 12, tzinfo=evening.garage.car.team.club.zone())
    with viewing_as(evening.by.pk):
        assert noted(evening, ran_at=noon).sheet == evening.sheet
        assert noted(evening, ran_at=noon - timedelta(days=1), facts=PAVED).sheet is None
        close_sheet(by=evening.by, sheet=evening.sheet)
        closed = timezone.now()
        better = correct_sheet(by=evening.by, sheet=evening.sheet, reason="Typed wrong.")
        assert noted(evening, ran_at=closed).sheet == better


def test_a_car_without_a_sheet_runs_too(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        run = note_run(by=people.chief, car=garage.car, facts=RunFacts(surface="dirt"))
        assert run.sheet is None
        with pytest.raises(Invalid) as refused:
            note_run(by=people.chief, car=garage.car, facts=RunFacts())
        assert refused.value.field == "surface"


def test_a_correction_keeps_what_stood_before(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        run = noted(evening)
        first = RunDetails.objects.get()
        facts = RunFacts(kind="heat", finish=3, surface_state="damp")
        second = correct_run(by=evening.by, run=run, facts=facts, expected=first.pk)
        assert RunDetails.objects.current().get() == second
        assert RunDetails.objects.count() == 2
        with pytest.raises(NotedMeanwhile):
            correct_run(by=evening.by, run=run, facts=RunFacts(), expected=first.pk)
        assert RunDetails.objects.current().get().finish == 3
        correct_run(by=evening.by, run=run, facts=RunFacts(), expected=OVER_ANYTHING)
        assert RunDetails.objects.current().get().finish is None


def test_what_the_driver_said_and_what_the_handler_saw_stand_apart(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        run = noted(evening, said=LOOSE)
        seen = FeelSaid(entry="pushes")
        note_feel(by=evening.by, run=run, said_by="handler", feel=seen, expected=None)
        feels = {feel.said_by: feel.entry for feel in Feel.objects.current()}
        assert feels == {"driver": "loose", "handler": "pushes"}
        with pytest.raises(NotedMeanwhile):
            note_feel(by=evening.by, run=run, said_by="driver", feel=seen, expected=None)
        note_feel(by=evening.by, run=run, said_by="driver", feel=FeelSaid(), expected=OVER_ANYTHING)
        assert [feel.said_by for feel in Feel.objects.current()] == ["handler"]
        assert Feel.objects.count() == 2


def test_the_same_feel_noted_again_is_one(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        run = noted(evening, said=LOOSE)
        note_feel(by=evening.by, run=run, said_by="driver", feel=LOOSE, expected=OVER_ANYTHING)
        assert Feel.objects.count() == 1


def test_laps_are_replaced_and_the_old_ones_stay(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        run = noted(evening, laps=TIMED)
        first = Laps.objects.get()
        more = TIMED._replace(times=[Decimal("7.3")], marks=[""])
        note_laps(by=evening.by, run=run, laps=more, expected=first.pk)
        assert [laps.times for laps in Laps.objects.current()] == [[Decimal("7.300")]]
        note_laps(by=evening.by, run=run, laps=None, expected=OVER_ANYTHING)
        assert not Laps.objects.current().exists()
        assert Laps.objects.count() == 2


@pytest.mark.parametrize(
    ("laps", "field"),
    [
        (TIMED._replace(times=[], marks=[]), "laps"),
        (TIMED._replace(marks=[""]), "laps"),
        (TIMED._replace(marks=["", "odd"]), "laps"),
        (TIMED._replace(times=[Decimal(0), Decimal(1)]), "laps"),
        (TIMED._replace(times=[Decimal(600), Decimal(1)]), "laps"),
        (TIMED._replace(times=[Decimal(7)] * 501, marks=[""] * 501), "laps"),
        (TIMED._replace(timed_by="ear"), "timed_by"),
    ],
)
def test_laps_that_are_none_are_refused(evening: Evening, laps: TimedLaps, field: str) -> None:
    with viewing_as(evening.by.pk):
        with pytest.raises(Invalid) as refused:
            noted(evening, laps=laps)
        assert refused.value.field == field
        assert not Run.objects.exists()


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        (RunFacts(kind="race"), "kind"),
        (RunFacts(finish=1), "finish"),
        (RunFacts(kind="heat", finish=0), "finish"),
        (RunFacts(kind="heat", finish=100), "finish"),
        (RunFacts(surface_state="wet"), "surface_state"),
        (RunFacts(damage_spots=["RF"]), "damage"),
        (RunFacts(damage="hit the wall", damage_spots=["roof"]), "damage_spots"),
        (RunFacts(damage="x" * 201), "damage"),
    ],
)
def test_facts_that_cannot_be_are_refused(evening: Evening, facts: RunFacts, field: str) -> None:
    with viewing_as(evening.by.pk):
        with pytest.raises(Invalid) as refused:
            note_run(by=evening.by, car=evening.garage.car, facts=facts)
        assert refused.value.field == field
        assert not Run.objects.exists()


def test_a_run_that_is_still_to_come_is_refused(evening: Evening) -> None:
    with viewing_as(evening.by.pk), pytest.raises(Invalid) as refused:
        noted(evening, ran_at=timezone.now() + timedelta(hours=1))
    assert refused.value.field == "ran_at"


def test_a_struck_run_stays_and_is_written_no_more(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        run = noted(evening)
        with pytest.raises(Invalid):
            strike_run(by=evening.by, run=run, reason=" ")
        strike_run(by=evening.by, run=run, reason="Noted twice.")
        assert not Run.objects.current().exists()
        assert Run.objects.get().struck_reason == "Noted twice."
        for write in (
            lambda: strike_run(by=evening.by, run=run, reason="Again."),
            lambda: note_laps(by=evening.by, run=run, laps=TIMED, expected=OVER_ANYTHING),
        ):
            with pytest.raises(WrongState, match="struck"):
                write()


def test_who_reads_runs_and_who_writes_them(evening: Evening, people: People) -> None:
    """As sheets: the team and its linked coach read, its crew writes, nobody else learns of it."""
    with viewing_as(evening.by.pk):
        run = noted(evening, said=LOOSE, laps=TIMED)
    for person in (people.chief, people.crew, people.guest, people.coach):
        with viewing_as(person.pk):
            counts = [model._default_manager.count() for model in (Run, RunDetails, Feel, Laps)]
            assert counts == [1, 1, 1, 1]
    for person in (people.official, people.steward, people.rival, people.unlinked_coach):
        with viewing_as(person.pk):
            counts = [model._default_manager.count() for model in (Run, RunDetails, Feel, Laps)]
            assert counts == [0, 0, 0, 0]
    for person in (people.guest, people.coach, people.rival, people.official, people.stranger):
        with viewing_as(person.pk), pytest.raises(NotAllowed):
            note_laps(by=person, run=run, laps=TIMED, expected=OVER_ANYTHING)


def test_what_is_read_on_the_open_sheet_after_it_ran_is_none_of_the_run(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        prompt = noted(evening)
        ran_at = timezone.now()
        evening.loads = Corners(*(load + 5 for load in evening.loads))
        evening.weigh()
        evening.take({"pressure.LF": "9.5"})
        late = noted(evening, ran_at=ran_at)
        assert late.car_state == prompt.car_state
        assert "pressure.LF" in noted(evening).car_state["figures"]
        # The same once the sheet is closed.
        close_sheet(by=evening.by, sheet=evening.sheet)
        assert noted(evening, ran_at=ran_at).car_state == prompt.car_state
