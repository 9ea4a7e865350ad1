"""A coach's plan of a school day: the day, the cars that go out, and showing it to families."""

from collections.abc import Sequence
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Max
from django.utils import timezone

from cars.history.queries.school_days import usual_sheets
from cars.models import Baseline, Car, Outing, SchoolDay, Sheet
from cars.permissions import check_can_coach, check_can_plan_day, check_can_send_out
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from teams.models import Club, Driver, Track

MOST_OUTINGS = 200
LONGEST_NAME, LONGEST_DAY_NOTE, LONGEST_NOTE = 80, 1000, 200


@action
def plan_school_day(
    *,
    by: User,
    club: Club,
    day: date,
    name: str,
    track: Track | None = None,
    note: str = "",
    cars: Sequence[Car] = (),
    school_day_id: UUID | None = None,
) -> SchoolDay:
    """A plan that nobody but the coach sees yet; each car goes out once, in the order given, as it
    was set last and with the driver of that sheet."""
    check_can_coach(by, club)
    school_day = SchoolDay(
        pk=school_day_id or new_id(),
        club=club,
        by=by,
        day=day,
        track=_track_of(club, track),
        name=_words(name, "name", "Give the day a name", LONGEST_NAME),
        note=_note(note, LONGEST_DAY_NOTE),
    )
    school_day.save(force_insert=True)
    record(by=by, did="planned", on=school_day)
    sheets = usual_sheets([car.pk for car in cars])
    for order, car in enumerate(cars, start=1):
        sheet = sheets.get(car.pk)
        _add(by, school_day, car, order, sheet=sheet, driver_id=sheet.driver_id if sheet else None)
    return school_day


@action
def change_school_day(
    *, by: User, school_day: SchoolDay, day: date, name: str, track: Track | None, note: str
) -> SchoolDay:
    """Another day, track, name or word to everybody in it."""
    school_day = _locked(by, school_day)
    school_day.day, school_day.track = day, _track_of(school_day.club, track)
    school_day.name = _words(name, "name", "Give the day a name", LONGEST_NAME)
    school_day.note = _note(note, LONGEST_DAY_NOTE)
    school_day.save(update_fields=["day", "track", "name", "note"])
    record(by=by, did="changed", on=school_day)
    return school_day


@action
def show_school_day(*, by: User, school_day: SchoolDay) -> SchoolDay:
    """The families whose cars are in it see their own outings from now on, and every change."""
    school_day = _locked(by, school_day)
    if school_day.shown_at is not None:
        raise WrongState("The families see this plan already.")
    if not school_day.outings.exists():
        raise WrongState("No car goes out yet: add one, then show the plan.")
    return _shown(by, school_day, "showed")


@action
def hide_school_day(*, by: User, school_day: SchoolDay) -> SchoolDay:
    """No family sees it any more, until it is shown again."""
    school_day = _locked(by, school_day)
    if school_day.shown_at is None:
        raise WrongState("No family sees this plan.")
    return _shown(by, school_day, "hid")


def _shown(by: User, school_day: SchoolDay, did: str) -> SchoolDay:
    school_day.shown_at = timezone.now() if did == "showed" else None
    school_day.save(update_fields=["shown_at"])
    outings = Outing.objects.filter(school_day=school_day)
    teams = set(outings.order_by().values_list("team", flat=True))
    outings.update(is_shown=school_day.shown_at is not None)
    for team in teams:
        record(by=by, did=did, on=school_day, team_id=team)
    return school_day


@action
def remove_school_day(*, by: User, school_day: SchoolDay) -> None:
    """The whole plan goes; no sheet, driver or car of it does."""
    school_day = _locked(by, school_day)
    _record_removed(by, school_day, school_day.outings.all())
    record(by=by, did="removed", on=school_day, name=school_day.name)
    school_day.delete()


@action
def send_out(*, by: User, school_day: SchoolDay, car: Car, outing_id: UUID | None = None) -> Outing:
    """The car goes out once more, after all others, as it was set last."""
    school_day = _locked(by, school_day)
    last = school_day.outings.aggregate(last=Max("order"))["last"] or 0
    sheet = usual_sheets([car.pk]).get(car.pk)
    driver = sheet.driver_id if sheet else None
    return _add(by, school_day, car, last + 1, sheet=sheet, driver_id=driver, pk=outing_id)


def _add(
    by: User,
    school_day: SchoolDay,
    car: Car,
    order: int,
    *,
    sheet: Sheet | None,
    driver_id: UUID | None,
    pk: UUID | None = None,
) -> Outing:
    check_can_send_out(by, car)
    if order > MOST_OUTINGS:
        raise Invalid("car", f"A day holds at most {MOST_OUTINGS} outings.")
    outing = Outing(
        pk=pk or new_id(),
        school_day=school_day,
        by=by,
        is_shown=school_day.shown_at is not None,
        order=order,
        car=car,
        team_id=car.team_id,
        sheet=sheet,
        driver_id=driver_id,
    )
    outing.save(force_insert=True)
    if outing.is_shown:
        record(by=by, did="sent_out", on=school_day, team_id=car.team_id, car=str(car))
    return outing


@action
def change_outing(
    *,
    by: User,
    outing: Outing,
    driver: Driver | None,
    sheet: Sheet | None = None,
    baseline: Baseline | None = None,
    note: str = "",
) -> Outing:
    """Another driver, sheet or baseline, or a word to who sets the car."""
    _locked(by, outing.school_day)
    if driver is not None and driver.team_id != outing.team_id:
        raise Invalid("driver", f"Choose a driver of {outing.team}.")
    if sheet is not None and baseline is not None:
        raise Invalid("sheet", "Choose a sheet or a baseline, not both.")
    _check_sheet(outing, sheet)
    _check_baseline(outing, baseline)
    outing.driver, outing.sheet, outing.baseline = driver, sheet, baseline
    outing.note = _note(note, LONGEST_NOTE)
    outing.save(update_fields=["driver", "sheet", "baseline", "note"])
    _record_change(by, outing, "changed_outing")
    return outing


def _check_sheet(outing: Outing, sheet: Sheet | None) -> None:
    if sheet is None:
        return
    if sheet.team_id != outing.team_id:
        raise Invalid("sheet", f"Choose a sheet of {outing.team}.")
    if sheet.car.chassis_id != outing.car.chassis_id:
        raise Invalid("sheet", "That sheet is of another chassis: its figures mean other things.")
    if sheet.role == Sheet.Role.FOUND or sheet.state != Sheet.State.CLOSED:
        is_target = sheet.role == Sheet.Role.TARGET
        if not is_target:
            raise Invalid("sheet", "Choose a closed sheet as set, or a target sheet.")


def _check_baseline(outing: Outing, baseline: Baseline | None) -> None:
    if baseline is None:
        return
    if baseline.chassis_id != outing.car.chassis_id:
        raise Invalid("baseline", "That baseline is of another chassis.")
    if baseline.state != Baseline.State.PUBLISHED:
        raise Invalid("baseline", "Choose a baseline that is in force.")


@action
def move_outing(*, by: User, outing: Outing, earlier: bool) -> Outing:
    """One place earlier or later: it changes places with its neighbour."""
    school_day = _locked(by, outing.school_day)
    outing.refresh_from_db(fields=["order"])
    rows = school_day.outings.all()
    if earlier:
        neighbour = rows.filter(order__lt=outing.order).order_by("-order").first()
    else:
        neighbour = rows.filter(order__gt=outing.order).order_by("order").first()
    if neighbour is None:
        raise WrongState("It goes out first already." if earlier else "It goes out last already.")
    outing.order, neighbour.order = neighbour.order, outing.order
    for row in (outing, neighbour):
        row.save(update_fields=["order"])
        _record_change(by, row, "changed_outing")
    return outing


@action
def remove_outing(*, by: User, outing: Outing) -> None:
    """The car does not go out this time; those after it move up."""
    school_day = _locked(by, outing.school_day)
    _record_removed(by, school_day, [outing])
    outing.delete()
    for order, row in enumerate(school_day.outings.order_by("order"), start=1):
        if row.order != order:
            row.order = order
            row.save(update_fields=["order"])


def _locked(by: User, school_day: SchoolDay) -> SchoolDay:
    """The day, held until the action is done: two who change its order follow one another."""
    check_can_plan_day(by, school_day)
    rows = SchoolDay.objects.select_for_update(of=("self",)).select_related("club")
    return rows.get(pk=school_day.pk)


def _record_change(by: User, outing: Outing, did: str) -> None:
    if outing.is_shown:
        row, car = outing.school_day, str(outing.car)
        record(by=by, did=did, on=row, team_id=outing.team_id, car=car)


def _record_removed(by: User, school_day: SchoolDay, outings: Any) -> None:
    """A family that saw its outing reads in its trail that it was taken out."""
    for outing in outings:
        _record_change(by, outing, "removed_outing")


def _track_of(club: Club, track: Track | None) -> Track | None:
    if track is not None and track.club_id != club.pk:
        raise Invalid("track", f"Choose a track of {club}.")
    return track


def _words(text: str, field: str, ask: str, longest: int) -> str:
    text = text.strip()
    if not 0 < len(text) <= longest:
        raise Invalid(field, f"{ask}, in at most {longest} letters.")
    return text


def _note(text: str, longest: int) -> str:
    text = text.strip()
    if len(text) > longest:
        raise Invalid("note", f"Write at most {longest} letters.")
    return text
