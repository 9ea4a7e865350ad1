"""A reading is asked for again when, and only when, something it depends on was changed since."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest

from cars.catalogue.adjusters import ADJUSTERS, adjusters_at, touch
from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.catalogue.staleness import stale_readings
from cars.catalogue.sync import read_catalogue
from cars.figures.judgement import FigureOutcome
from cars.models import Change, Reading
from cars.models.catalogue import Spot
from cars.runs.presenters.adjustments import ADJUSTABLE
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.readings import take_same_again
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.actions.sheets import close_sheet, correct_sheet, open_sheet
from cars.sheets.pages.forms import CHANGE_UNITS, ChangeForm
from cars.sheets.presenters.sheet_view import sheet_view
from clubsetup.access.errors import NotAllowed, WrongState
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.bounds import MOST_CHANGED
from tests.cars.garage import Garage
from tests.cars.plans.evening import make_evening
from tests.people import People

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)
STEPS, MEASURES = read_catalogue()
KNOWN = Catalogue(STEPS, {measure.pk: measure for measure in MEASURES})


def reading(measure: str, spot: str, minutes: int = 0, take: int = 1) -> Reading:
    return Reading(
        measure_id=measure, spot=spot, take=take, taken_at=NOON + timedelta(minutes=minutes)
    )


def change(adjuster: str, spot: str, minutes: int = 1) -> Change:
    return Change(
        adjuster=adjuster,
        spot=spot,
        amount=Decimal(1),
        unit="turn",
        made_at=NOON + timedelta(minutes=minutes),
    )


def stale(adjuster: str, spot: str, *boxes: tuple[str, str]) -> set[str]:
    rows = [reading(measure, at) for measure, at in boxes]
    return {str(key) for key in stale_readings(rows, [change(adjuster, spot)], KNOWN)}


def test_a_turned_seat_asks_for_all_four_weights_and_heights_again() -> None:
    boxes = [(m, c) for m in ("weight", "ride-height") for c in ("LF", "RF", "LR", "RR")]
    to_retake = stale("spring-seat", "LF", *boxes, ("pressure", "LF"), ("camber", "left"))
    derived = {"total-weight.car", "left-share.car", "rear-share.car", "cross.car"}
    assert to_retake == {f"{m}.{c}" for m, c in boxes} | derived


def test_only_the_turned_seats_own_thread_is_read_again() -> None:
    assert stale("spring-seat", "LF", ("seat-thread", "LF"), ("seat-thread", "RF")) == {
        "seat-thread.LF"
    }


@pytest.mark.parametrize(
    ("adjuster", "spot", "box", "asked"),
    [
        ("rear-rod-upper", "left", ("carrier-rotation", "left"), True),
        ("rear-rod-upper", "left", ("carrier-rotation", "right"), False),
        ("rear-rod-upper", "left", ("wheelbase", "right"), True),
        ("rear-rod-upper", "left", ("caster", "left"), False),
        ("front-rod-upper", "front", ("caster", "left"), True),
        ("rear-rod-hole", "rear", ("rear-rod-holes", "left"), True),
        ("rear-rod-hole", "rear", ("wheelbase", "left"), True),
        ("lead", "rear", ("wheelbase", "right"), True),
        ("lead", "rear", ("chain-slack", "car"), True),
        ("lead", "rear", ("camber", "left"), False),
        ("side-to-side", "front", ("front-lateral", "front"), True),
        ("toe", "front", ("toe", "front"), True),
        ("toe", "front", ("weight", "LF"), False),
        ("caster", "right", ("caster", "right"), True),
        ("caster", "right", ("caster", "left"), False),
        ("camber", "left", ("weight", "RR"), True),
        ("stagger", "rear", ("circumference", "RR"), True),
        ("stagger", "rear", ("circumference", "RF"), False),
        ("stagger", "rear", ("ride-height", "LF"), True),
        ("wheel-spacer", "RF", ("track-width", "front"), True),
        ("wheel-spacer", "RF", ("track-width", "rear"), False),
        ("wheel-spacer", "RF", ("weight", "LR"), True),
        ("ballast-height", "car", ("weight", "LF"), True),
        ("ballast-forward", "car", ("ballast-fixed", "car"), True),
        ("ballast-left", "car", ("ballast-total", "car"), False),
        ("upper-rod", "front", ("carrier-rotation", "left"), False),
        ("upper-rod", "left", ("carrier-rotation", "left"), True),
        ("upper-rod", "left", ("caster", "left"), True),
        ("block", "LF", ("camber", "left"), True),
        ("block", "LF", ("camber", "right"), False),
        ("block", "LF", ("toe", "front"), True),
        ("pressure", "RR", ("circumference", "RR"), True),
        ("pressure", "RR", ("circumference", "LR"), False),
        ("pressure", "RR", ("weight", "LF"), True),
        ("gearing", "car", ("weight", "LF"), False),
        ("gearing", "car", ("nuts-bolts", "car"), True),
        ("a new seat cover", "car", ("weight", "LF"), False),
    ],
)
def test_what_a_change_asks_for_again(
    adjuster: str, spot: str, box: tuple[str, str], asked: bool
) -> None:
    assert (".".join(box) in stale(adjuster, spot, box)) == asked


def test_a_reading_taken_after_the_change_stands() -> None:
    rows = [reading("weight", "LF", 0), reading("weight", "RF", 2)]
    to_retake = stale_readings(rows, [change("spring-seat", "LF", 1)], KNOWN)
    assert Key("weight", "LF") in to_retake
    assert Key("weight", "RF") not in to_retake
    assert Key("cross", "car") in to_retake, "one stale pad makes cross stale"


def test_a_reading_taken_at_the_moment_of_the_change_stands() -> None:
    assert (
        stale_readings([reading("weight", "LF", 1)], [change("spring-seat", "LF", 1)], KNOWN) == {}
    )


def test_what_was_replaced_or_is_of_no_known_measure_is_passed_over() -> None:
    """And what comes after it is not."""
    unknown, replaced = reading("seat-cover", "car"), reading("weight", "LF")
    replaced.replaced_at = NOON
    rows = [unknown, replaced, reading("weight", "RF")]
    to_retake = stale_readings(rows, [change("spring-seat", "LF")], KNOWN)
    assert {str(key) for key in to_retake if key.spot != "car"} == {"weight.RF"}


@pytest.mark.parametrize(
    ("adjuster", "spot", "boxes", "asked"),
    [
        (
            *("pressure", "RR", [("pressure", "RR"), ("circumference", "RR")]),
            {"pressure.RR", "circumference.RR", "stagger.rear"},
        ),
        ("rear-rod-upper", "left", [("wheelbase", "right")], {"wheelbase.right", "lead.car"}),
    ],
)
def test_what_is_computed_follows_what_it_is_computed_from(
    adjuster: str, spot: str, boxes: list[tuple[str, str]], asked: set[str]
) -> None:
    assert stale(adjuster, spot, *boxes) == asked


def test_a_change_that_two_readings_name_is_named_once() -> None:
    turned = change("spring-seat", "LF")
    rows = [reading("weight", "LF"), reading("weight", "LF", take=2), reading("weight", "RF")]
    to_retake = stale_readings(rows, [turned], KNOWN)
    assert set(to_retake.values()) == {(turned,)}


def test_every_change_since_the_reading_is_named_the_first_one_first() -> None:
    early, late = change("tyre", "LF", 2), change("spring-seat", "LF", 5)
    to_retake = stale_readings(
        [reading("weight", "LF", 3), reading("weight", "RF", 0)], [late, early], KNOWN
    )
    assert to_retake[Key("weight", "LF")] == (late,)
    assert to_retake[Key("weight", "RF")] == (early, late)
    assert to_retake[Key("cross", "car")] == (early, late)


def test_what_was_changed_at_once_is_named_from_the_left_front_on() -> None:
    at_once = [change("spring-seat", corner, 5) for corner in ("RR", "LR", "LF", "RF")]
    causes = stale_readings([reading("weight", "LF")], at_once, KNOWN)[Key("weight", "LF")]
    assert [cause.spot for cause in causes] == ["LF", "RF", "LR", "RR"]


def test_one_stale_take_of_two_makes_the_box_stale() -> None:
    rows = [reading("weight", "LF", 3), reading("weight", "LF", 0, take=2)]
    assert Key("weight", "LF") in stale_readings(rows, [change("spring-seat", "LF", 1)], KNOWN)


def test_every_adjuster_belongs_to_a_step_and_reads_measures_of_the_catalogue() -> None:
    steps = {step.pk for step in STEPS}
    for adjuster in ADJUSTERS.values():
        assert adjuster.step in steps
        assert set(adjuster.measures) <= set(KNOWN.measures)
        assert adjuster.spots
        assert set(adjuster.spots) <= set(Spot.values)
        assert set(adjuster.units) <= MOST_CHANGED.keys()
        assert bool(adjuster.more) == bool(adjuster.units)


def test_what_is_changed_at_the_track_is_an_adjuster_at_its_spots() -> None:
    for each in ADJUSTABLE:
        adjuster = ADJUSTERS[each.adjuster]
        assert set(each.spots) <= set(adjuster.spots)
        # Of a spring that is swapped nobody need know by how much it is stiffer.
        assert each.unit in adjuster.units or (each.adjuster, each.unit) == ("spring", "1")
        assert each.unit in dict(CHANGE_UNITS)


def test_everything_a_person_can_choose_is_known_to_touch_something() -> None:
    adjuster: Any = ChangeForm.base_fields["adjuster"]
    offered = dict(adjuster.choices)
    assert offered
    for slug in offered:
        assert any(adjusters_at(slug, spot) for spot in ("LF", "front", "left", "car")), slug


def test_spots_touch_where_they_share_a_corner() -> None:
    assert touch("LF", "front")
    assert touch("left", "rear")
    assert touch("car", "RR")
    assert not touch("LF", "right")
    assert not touch("front", "rear")


def test_the_sheet_says_retake_with_the_change_that_caused_it(
    garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        before = sheet_view(evening.sheet, people.chief)
        assert before.box("cross", "car").state in {"good", "bad", "close"}
        assert before.retakes == 0
        note_change(
            by=people.chief,
            sheet=evening.sheet,
            adjuster="spring-seat",
            spot="LF",
            amount=Decimal("0.5"),
            unit="turn",
        )
        view = sheet_view(evening.sheet, people.chief)
        box = view.box("weight", "RR")
        assert box.judgement.outcome is FigureOutcome.RETAKE
        assert (box.state, box.words) == ("again", "take again: spring seat LF +1/2 turn")
        assert view.box("cross", "car").is_retake
        assert view.retakes == 8
        assert not view.box("pressure", "LF").is_retake


def test_read_again_it_stands_even_where_it_says_the_same(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        note_change(
            by=people.chief,
            sheet=evening.sheet,
            adjuster="pressure",
            spot="LF",
            amount=Decimal(1),
            unit="psi",
        )
        was = Reading.objects.current().get(sheet=evening.sheet, measure="weight", spot="LF")
        now = take_same_again(
            by=people.chief, sheet=evening.sheet, key=Key("weight", "LF"), seen=OVER_ANYTHING
        )
        was.refresh_from_db()
        assert (now.typed, now.value, now.unit) == (was.typed, was.value, was.unit)
        assert was.replaced_by == people.chief
        view = sheet_view(evening.sheet, people.chief)
        assert not view.box("weight", "LF").is_retake
        assert view.box("weight", "RF").is_retake
        assert TrailLine.objects.filter(on_id=evening.sheet.pk, did="took").count() == 2


def test_the_same_again_needs_something_that_stands_and_leave_to_write(
    garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief, read=False)
        with pytest.raises(WrongState, match="Nothing stands"):
            take_same_again(
                by=people.chief, sheet=evening.sheet, key=Key("weight", "LF"), seen=OVER_ANYTHING
            )
    with viewing_as(people.guest.pk), pytest.raises(NotAllowed):
        take_same_again(
            by=people.guest, sheet=evening.sheet, key=Key("weight", "LF"), seen=OVER_ANYTHING
        )


def test_a_corrected_sheet_keeps_what_was_stale_and_what_was_not(
    garage: Garage, people: People
) -> None:
    """Its readings and changes are copies made at one moment; their own times go along."""
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        note_change(
            by=people.chief,
            sheet=evening.sheet,
            adjuster="spring-seat",
            spot="LF",
            amount=Decimal(1),
            unit="turn",
        )
        evening.take({"weight.LF": "80", "pressure.LF": "9"})
        closed = close_sheet(by=people.chief, sheet=evening.sheet)
        corrected = correct_sheet(by=people.chief, sheet=closed, reason="Wrong pad.")
        view = sheet_view(corrected, people.chief)
        assert not view.box("weight", "LF").is_retake
        assert view.box("weight", "RF").is_retake


def test_readings_copied_to_the_next_sheet_stay_stale_by_the_changes_before_it(
    garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief)
        note_change(
            by=people.chief,
            sheet=evening.sheet,
            adjuster="spring-seat",
            spot="LF",
            amount=Decimal(1),
            unit="turn",
        )
        following = open_sheet(
            by=people.chief,
            car=garage.car,
            role="set",
            based_on=evening.sheet,
            with_readings=True,
        )
        assert sheet_view(following, people.chief).box("weight", "LF").is_retake
