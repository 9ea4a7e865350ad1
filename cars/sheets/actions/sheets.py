"""Sheets: opened, headed, closed, corrected."""

from collections.abc import Collection, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from django.db import connection
from django.db.models import Q
from django.utils import timezone

from cars.baselines.queries.baselines import baseline_for
from cars.figures.formatting import format_box, format_changes
from cars.models import Baseline, Car, Import, Sheet
from cars.permissions import check_can_open_sheet, check_can_write_sheet
from cars.sheets.actions.closed_figures import keep_figures
from cars.sheets.actions.copying import copy_changes, copy_readings, take_targets
from cars.sheets.actions.parts_fitted import copy_parts
from cars.sheets.actions.readings import locked_open
from cars.sheets.queries.at_track import standing, track_changes_of
from cars.sheets.queries.retakes import Retake, to_take_again
from cars.sheets.queries.sheets import open_benches
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.clock.writing import minute
from clubsetup.quantities.reading import Typed
from clubsetup.quantities.units import Units
from teams.models import Driver, Surface, Track
from teams.queries.clocks import today_of


@action
def open_sheet(
    *,
    by: User,
    car: Car,
    role: str,
    made_on: date | None = None,
    surface: str = "",
    driver: Driver | None = None,
    track: Track | None = None,
    baseline: Baseline | None = None,
    based_on: Sheet | None = None,
    with_readings: bool = False,
    fuel: Typed | None = None,
    note: str = "",
    sheet_id: UUID | None = None,
    alone: bool = False,
    from_import: Import | None = None,
) -> Sheet:
    """A sheet from nothing, from a baseline, or from an earlier sheet.

    `alone`: refused while another one of its kind is open on the car, found or left; two who open
    one at once wait for each other.

    An earlier sheet lends its driver, track, surface and baseline where none are given, and its
    readings too if `with_readings`. A target sheet opened with a baseline and no earlier sheet
    starts from that baseline's targets. Without a baseline the one in force for the car on this
    surface is taken. What was changed at the track since the earlier one is taken over by a sheet
    as found: no reading that it touched, and no part that was swapped.
    """
    check_can_open_sheet(by, car)
    if alone:
        _check_alone(by, car, role)
    if based_on is not None:
        driver, track = driver or based_on.driver, track or based_on.track
        baseline = baseline or based_on.baseline
        surface = surface or (track.surface if track else based_on.surface)
    surface = surface or _surface(track, baseline or car.baseline)
    sheet = Sheet(
        pk=sheet_id or new_id(),
        car=car,
        team_id=car.team_id,
        role=role,
        made_on=made_on or today_of(by),
        based_on=based_on,
        opened_by=by,
        from_import=from_import,
    )
    _head(
        sheet,
        driver=driver,
        track=track,
        surface=surface,
        baseline=baseline or baseline_for(car, surface),
        fuel=fuel,
        note=note,
    )
    _check_origin(sheet)
    if based_on is not None and with_readings:
        _carry_fuel(based_on, sheet)
    sheet.save(force_insert=True)
    if based_on is not None and with_readings:
        since = standing(track_changes_of(based_on)) if role == Sheet.Role.FOUND else []
        copy_readings(based_on, sheet, carried=role != Sheet.Role.TARGET, touched_by=since)
        copy_parts(based_on, sheet, by, swapped=since)
    elif role == Sheet.Role.TARGET and baseline is not None and based_on is None:
        take_targets(baseline, sheet, by)
    record(by=by, did="opened", on=sheet, team_id=car.team_id, role=role, **_origin(sheet))
    return sheet


@action
def edit_sheet(
    *,
    by: User,
    sheet: Sheet,
    made_on: date,
    surface: str,
    driver: Driver | None,
    track: Track | None,
    baseline: Baseline | None,
    fuel: Typed | None,
    note: str,
) -> Sheet:
    """Changes what stands at the head of an open sheet."""
    check_can_write_sheet(by, sheet)
    sheet = locked_open(sheet)
    sheet.made_on = made_on
    same_fuel = fuel is not None and fuel.text == sheet.fuel_typed
    sheet.fuel_carried = sheet.fuel_carried and same_fuel
    surface = surface or _surface(track, baseline)
    _head(
        sheet,
        driver=driver,
        track=track,
        surface=surface,
        baseline=baseline,
        fuel=fuel,
        note=note,
    )
    sheet.save(
        update_fields=[
            *("made_on", "surface", "driver", "track", "baseline", "note"),
            *("fuel", "fuel_typed", "fuel_carried"),
        ]
    )
    record(by=by, did="headed", on=sheet, team_id=sheet.team_id)
    return sheet


class ToTakeAgain(WrongState):
    """The sheet is open still: `boxes` of it, readings or checks, are to be taken again."""

    def __init__(self, boxes: Sequence[Retake], units: Units) -> None:
        self.boxes = boxes
        named = "; ".join(
            f"{format_box(each.measure, each.spot)} ({format_changes(each.causes, units)})"
            for each in boxes
        )
        super().__init__(f"To be taken again before it is closed, or closed all the same: {named}.")
        self.more = {"again": [str(each.key) for each in boxes]}


@action
def close_sheet(*, by: User, sheet: Sheet, again: Collection[str] | None = None) -> Sheet:
    """Closes a sheet that has at least one reading; from then on it stands.

    With `again`, the boxes that the person was told are to be taken again, raises ToTakeAgain
    where there are others by now.
    """
    check_can_write_sheet(by, sheet)
    sheet = locked_open(sheet)
    if again is not None:
        boxes = to_take_again(sheet)
        if not {str(each.key) for each in boxes} <= set(again):
            raise ToTakeAgain(boxes, by.units(sheet.team.club.units()))
    if not sheet.readings.current().exists():
        raise WrongState("Nothing is written on this sheet yet. Take a reading before closing it.")
    sheet.state, sheet.closed_at, sheet.closed_by = Sheet.State.CLOSED, timezone.now(), by
    sheet.save(update_fields=["state", "closed_at", "closed_by"])
    keep_figures(sheet.car_id)
    record(by=by, did="closed", on=sheet, team_id=sheet.team_id)
    return sheet


@action
def correct_sheet(*, by: User, sheet: Sheet, reason: str, sheet_id: UUID | None = None) -> Sheet:
    """The next version of a closed sheet, open, with its readings; the closed one stays."""
    check_can_write_sheet(by, sheet)
    sheet = Sheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
    if sheet.state != Sheet.State.CLOSED:
        raise WrongState("This sheet is still open: change it as it is.")
    if Sheet.objects.filter(corrects=sheet).exists():
        raise WrongState("There is a newer version of this sheet. Correct that one.")
    if not 0 < len(reason.strip()) <= 200:
        raise Invalid("reason", "Say in a few words why it is corrected.")
    next_version = Sheet(
        pk=sheet_id or new_id(),
        corrects=sheet,
        reason=reason.strip(),
        version=sheet.version + 1,
        opened_by=by,
        **{name: getattr(sheet, name) for name in CARRIED},
    )
    next_version.save(force_insert=True)
    copy_readings(sheet, next_version, carried=False)
    copy_changes(sheet, next_version)
    copy_parts(sheet, next_version, by)
    record(
        by=by,
        did="corrected",
        on=next_version,
        team_id=sheet.team_id,
        corrects=str(sheet.pk),
        reason=next_version.reason,
    )
    return next_version


CARRIED = (
    *("car_id", "team_id", "role", "made_on", "driver_id", "track_id", "surface"),
    *("baseline_id", "based_on_id", "fuel", "fuel_typed", "fuel_carried", "note"),
)


def _head(
    sheet: Sheet,
    *,
    driver: Driver | None,
    track: Track | None,
    surface: str,
    baseline: Baseline | None,
    fuel: Typed | None,
    note: str,
) -> None:
    """Sets the head of a sheet. Raises Invalid for what does not go together."""
    car = sheet.car
    if driver is not None and driver.team_id != sheet.team_id:
        raise Invalid("driver", "Choose a driver of the team that has the car.")
    if track is not None and track.club_id != car.chassis.club_id:
        raise Invalid("track", "Choose a track of the car's club.")
    if surface not in Surface.values:
        raise Invalid("surface", "Choose paved or dirt.")
    if baseline is not None and baseline.chassis_id != car.chassis_id:
        raise Invalid("baseline", f"Choose a baseline of the {car.chassis}.")
    if fuel is not None and fuel.value < 0:
        raise Invalid("fuel", "There is never less than no fuel.")
    sheet.driver, sheet.track, sheet.surface, sheet.baseline = driver, track, surface, baseline
    sheet.fuel, sheet.fuel_typed = (fuel.value, fuel.text) if fuel else (None, "")
    sheet.note = note.strip()


class OpenAlready(WrongState):
    """A bench of this kind is open on the car: `sheet` is the one to go on with."""

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        opened = minute(timezone.localtime(sheet.created_at))
        super().__init__(
            f"{sheet} is open already, since {opened} by {sheet.opened_by}. "
            "Go on with it, or finish it first."
        )
        self.more = {"open": str(sheet.pk)}


def _check_alone(by: User, car: Car, role: str) -> None:
    """Raises OpenAlready; held until the transaction ends, so that a second phone sees the first.

    Benches opened before this was asked for stay open, all of them. One that the same person opened
    and nothing was written on yet is no hindrance: it may have been started for the wrong targets,
    and an empty sheet cannot be closed.
    """
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_advisory_xact_lock(hashtextextended(%s, 0))", [f"{car.pk}:{role}"]
        )
    if role == Sheet.Role.TARGET:
        return
    begun = Q(readings__isnull=False) | Q(changes__isnull=False) | ~Q(opened_by=by)
    sheet = open_benches([car]).filter(begun, role=role).first()
    if sheet is not None:
        raise OpenAlready(sheet)


def _carry_fuel(found: Sheet, set_sheet: Sheet) -> None:
    """The fuel noted on a car as found, onto the sheet as set that says nothing of it."""
    follows = (found.role, set_sheet.role) == (Sheet.Role.FOUND, Sheet.Role.SET)
    if follows and found.fuel is not None and set_sheet.fuel is None:
        set_sheet.fuel, set_sheet.fuel_typed, set_sheet.fuel_carried = (
            found.fuel,
            found.fuel_typed,
            True,
        )


def _check_origin(sheet: Sheet) -> None:
    if sheet.role not in Sheet.Role.values:
        raise Invalid("role", "Choose as found, as set or target.")
    if sheet.based_on is not None and sheet.based_on.car_id != sheet.car_id:
        raise Invalid("based_on", "Choose a sheet of this car.")


def _surface(track: Track | None, baseline: Baseline | None) -> str:
    """The surface nobody said: the track's, else the baseline's."""
    return track.surface if track else baseline.surface if baseline else ""


def _origin(sheet: Sheet) -> dict[str, Any]:
    return {
        "based_on": str(sheet.based_on_id) if sheet.based_on_id else None,
        "baseline": str(sheet.baseline_id) if sheet.baseline_id else None,
    }
