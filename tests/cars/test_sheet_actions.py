"""Opening, filling, closing and correcting a sheet through the actions."""

from decimal import Decimal

import pytest

from cars.baselines.actions.baselines import (
    copy_baseline,
    draft_baseline,
    publish_baseline,
)
from cars.garage.actions.cars import edit_car
from cars.models import Baseline, Car, Measure, Reading, Sheet
from cars.sheets.actions.comments import add_comment
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.actions.sheets import close_sheet, correct_sheet, edit_sheet, open_sheet
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.errors import QuantityError
from teams.actions.places import add_race_class
from tests.cars.garage import Garage, set_target, typed
from tests.people import People

HEIGHTS = {"ride-height.LF": "2 1/4", "ride-height.RF": "2 3/8", "ride-height.LR": "2.25 in"}


def standing(sheet: Sheet) -> dict[str, str]:
    rows = sheet.readings.current()
    return {f"{row.measure_id}.{row.spot}": row.typed for row in rows}


def test_readings_keep_what_was_typed_and_the_exact_value(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        take_typed(by=people.crew, sheet=sheet, typed=HEIGHTS)
        row = sheet.readings.get(spot="RF")
        assert (row.typed, row.value, row.unit) == ("2 3/8", Decimal("60.325"), "in")
        assert row.resolution == Decimal("1.5875")  # the tape's sixteenth, not the eighth written
        assert sheet.baseline == garage.baseline  # the car's own, being for this surface


def test_a_new_reading_replaces_and_the_old_one_stays(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        take_typed(by=people.crew, sheet=sheet, typed=HEIGHTS)
        take_typed(by=people.crew, sheet=sheet, typed={**HEIGHTS, "ride-height.LF": "2 5/16"})
        rows = list(sheet.readings.filter(spot="LF"))
        assert [row.typed for row in rows] == ["2 1/4", "2 5/16"]
        assert rows[0].replaced_by == people.crew
        assert rows[1].replaced_at is None
        # What was sent again unchanged made no second reading.
        assert sheet.readings.count() == len(HEIGHTS) + 1


def test_the_same_figure_in_another_unit_is_another_reading(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)

        def take(text: str) -> list[Reading]:
            return take_typed(by=people.crew, sheet=sheet, typed={"ride-height.LF": text})

        (first,), again, (other,) = take("2 1/4"), take("2 1/4"), take("57.15 mm")
        assert again == []
        assert other.value == first.value


def test_an_emptied_box_has_no_reading_any_more(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        take_typed(by=people.crew, sheet=sheet, typed=HEIGHTS)
        take_typed(by=people.crew, sheet=sheet, typed={"ride-height.LF": ""})
        assert set(standing(sheet)) == set(HEIGHTS) - {"ride-height.LF"}
        assert sheet.readings.filter(spot="LF", replaced_by=people.crew).exists()


@pytest.mark.parametrize(
    ("box", "text", "says"),
    [
        ("ride-height.LF", "46 9/7", "not less than one"),
        ("ride-height.LF", "11 psi", "pressure"),
        ("ride-height.LF", "46", "cannot be right"),
        ("cross.car", "52", "computed"),
        ("ride-height.front", "2", "is read at"),
        ("nuts-bolts.car", "nearly", "done"),
        ("block-marks.left", "x" * 201, "at most"),
    ],
)
def test_what_is_no_such_reading_is_refused_with_its_mending(
    garage: Garage, people: People, box: str, text: str, says: str
) -> None:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        with pytest.raises(QuantityError, match=says):
            take_typed(by=people.crew, sheet=sheet, typed={"ride-height.RF": "2", box: text})
        assert not sheet.readings.exists()


def test_a_closed_sheet_takes_nothing_more(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        with pytest.raises(WrongState, match="Nothing is written"):
            close_sheet(by=people.crew, sheet=sheet)
        take_typed(by=people.crew, sheet=sheet, typed=HEIGHTS)
        stale = Sheet.objects.get(pk=sheet.pk)
        closed = close_sheet(by=people.crew, sheet=sheet)
        assert closed.closed_by == people.crew
        for late in (sheet, stale, closed):
            with pytest.raises(WrongState, match="closed"):
                take_typed(by=people.crew, sheet=late, typed={"ride-height.LF": "3"})
        with pytest.raises(WrongState, match="closed"):
            note_change(
                by=people.crew,
                sheet=stale,
                adjuster="spring-seat",
                spot="LF",
                amount=Decimal(1),
                unit="turn",
            )
        with pytest.raises(WrongState, match="closed"):
            close_sheet(by=people.crew, sheet=stale)
        assert standing(sheet) == HEIGHTS


def test_a_correction_is_a_new_version_with_a_reason(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        take_typed(by=people.crew, sheet=sheet, typed=HEIGHTS)
        with pytest.raises(WrongState, match="still open"):
            correct_sheet(by=people.crew, sheet=sheet, reason="typo")
        close_sheet(by=people.crew, sheet=sheet)
        with pytest.raises(Invalid) as refusal:
            correct_sheet(by=people.crew, sheet=sheet, reason="  ")
        assert refusal.value.field == "reason"
    with viewing_as(people.chief.pk):
        second = correct_sheet(by=people.chief, sheet=sheet, reason="RF read off the wrong mark")
        assert (second.version, second.state, second.corrects) == (2, "open", sheet)
        take_typed(by=people.chief, sheet=second, typed={"ride-height.RF": "2 7/16"})
        assert standing(sheet) == HEIGHTS
        assert standing(second) == {**HEIGHTS, "ride-height.RF": "2 7/16"}
        # A copied reading is still by whoever took it.
        assert second.readings.get(spot="LF").by == people.crew
        with pytest.raises(WrongState, match="newer version"):
            correct_sheet(by=people.chief, sheet=sheet, reason="once more")


def test_a_sheet_follows_an_earlier_one(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        found = garage.sheet(people.crew, note="after the heat")
        take_typed(by=people.crew, sheet=found, typed=HEIGHTS)
        as_set = open_sheet(by=people.crew, car=garage.car, role="set", based_on=found)
        assert (as_set.surface, as_set.baseline, standing(as_set)) == ("paved", garage.baseline, {})
        full = open_sheet(
            by=people.crew, car=garage.car, role="set", based_on=found, with_readings=True
        )
        assert standing(full) == HEIGHTS


def test_a_sheet_goes_by_the_baseline_in_force(garage: Garage, people: People) -> None:
    """The car's own while it is in force, else the one for its chassis and the surface."""

    def taken(surface: str) -> Baseline | None:
        with viewing_as(people.crew.pk):
            return open_sheet(
                by=people.crew,
                car=Car.objects.select_related("team", "chassis").get(pk=garage.car.pk),
                role="found",
                surface=surface,
            ).baseline

    assert taken("paved") == garage.baseline
    assert taken("dirt") is None
    with viewing_as(people.steward.pk):
        newer = copy_baseline(by=people.steward, baseline=garage.baseline)
        assert taken("paved") == garage.baseline  # a draft is not in force
        newer = publish_baseline(by=people.steward, baseline=newer, note="Anew.")
    assert taken("paved") == newer
    with viewing_as(people.steward.pk):
        juniors = add_race_class(by=people.steward, club=people.club, name="Juniors")
        theirs = draft_baseline(
            by=people.steward, chassis=garage.chassis, surface="paved", race_class=juniors
        )
        height = Measure.objects.get(pk="ride-height")
        set_target(
            by=people.steward,
            baseline=theirs,
            measure=height,
            spot="LF",
            target=typed(height, "2"),
            tolerance=typed(height, "1/8"),
            source="club",
        )
        publish_baseline(by=people.steward, baseline=theirs)
    assert taken("paved") == newer  # the car is in no class yet
    with viewing_as(people.chief.pk):
        edit_car(
            by=people.chief,
            car=garage.car,
            number="7",
            name="",
            chassis=garage.chassis,
            race_class=juniors,
            baseline=None,
        )
    assert taken("paved") == theirs


def test_a_target_sheet_starts_from_its_baseline(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        target = garage.sheet(people.crew, role="target", baseline=garage.baseline)
        row = target.readings.get(measure="wheelbase", spot="left")
        assert row.value == Decimal("1174.75")
        # Derived figures are never written on a sheet.
        assert not target.readings.filter(measure="lead").exists()


def test_the_head_of_an_open_sheet_can_be_changed(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        edit_sheet(
            by=people.crew,
            sheet=sheet,
            made_on=sheet.made_on,
            surface="dirt",
            driver=None,
            track=None,
            baseline=None,
            fuel=None,
            note=" wet ",
        )
        kept = Sheet.objects.get(pk=sheet.pk)
        assert (kept.surface, kept.baseline, kept.note) == ("dirt", None, "wet")


def test_who_may_write_and_comment(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
    for who in (people.guest, people.coach):
        with viewing_as(who.pk):
            seen = Sheet.objects.get(pk=sheet.pk)
            with pytest.raises(NotAllowed):
                take_typed(by=who, sheet=seen, typed=HEIGHTS)
            with pytest.raises(NotAllowed):
                close_sheet(by=who, sheet=seen)
    with viewing_as(people.coach.pk):
        add_comment(by=people.coach, sheet=sheet, text="Look at the RF spring.")
    with viewing_as(people.guest.pk), pytest.raises(NotAllowed):
        add_comment(by=people.guest, sheet=sheet, text="Me too.")
    for who in (
        *(people.steward, people.official, people.unlinked_coach, people.rival),
        *(people.other_official, people.stranger),
    ):
        with viewing_as(who.pk):
            assert not Sheet.objects.filter(pk=sheet.pk).exists()
            with pytest.raises(NotAllowed):
                take_typed(by=who, sheet=sheet, typed=HEIGHTS)


def test_without_its_line_in_the_trail_nothing_is_saved(
    garage: Garage, people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise RuntimeError("no trail")

    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        take_typed(by=people.crew, sheet=sheet, typed=HEIGHTS)
        before = standing(sheet)
        monkeypatch.setattr(TrailLine, "save", fails)
        with pytest.raises(RuntimeError):
            take_typed(by=people.crew, sheet=sheet, typed={"ride-height.LF": "3"})
        with pytest.raises(RuntimeError):
            close_sheet(by=people.crew, sheet=sheet)
        with pytest.raises(RuntimeError):
            add_comment(by=people.crew, sheet=sheet, text="lost")
        assert standing(sheet) == before
        assert Sheet.objects.get(pk=sheet.pk).state == "open"
        assert not sheet.comments.exists()
        assert Reading.objects.filter(sheet=sheet).count() == len(HEIGHTS)
