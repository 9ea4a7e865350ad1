"""Accepting a plan of ballast on a car's sheet, and taking that back."""

from collections.abc import Collection, Sequence
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.utils import timezone

from cars.catalogue.keys import Key
from cars.catalogue.queries import catalogue
from cars.catalogue.staleness import makes_stale
from cars.constraint_messages import constraint_messages
from cars.figures.box_entries import BoxEntry
from cars.models import BallastMount, BallastPiece, Change, Measure, Reading, Sheet
from cars.permissions import check_can_write_sheet
from cars.plans.queries.ballast import ballast_seen, last_fitted
from cars.plans.queries.marked_ballast import marked_elsewhere, marked_elsewhere_message
from cars.sheets.actions.ballast import move_ballast_piece
from cars.sheets.actions.changes import write_change
from cars.sheets.actions.conflicts import Unseen
from cars.sheets.actions.readings import locked_open, take_readings
from cars.sheets.actions.replacing import put_back_reading
from cars.sheets.actions.set_sheet import locked_set_sheet
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show

TOTAL = Key("ballast-total", "car")


@action
def fit_ballast(
    *,
    by: User,
    sheet: Sheet,
    moves: Sequence[tuple[UUID, UUID | None]],
    seen: str | Unseen,
    confirmed: Collection[UUID] = (),
) -> list[BallastPiece]:
    """Notes pieces as fitted to the sheet's car at a mount, moved, or taken off (no mount).

    Each is a change on the sheet, the one as set for a car as found: the scales, the ride heights
    and the last checks must be taken again there. The ballast on the car is then what the pieces
    on it are marked, unless more stood there than the team's pieces account for. A piece marked
    for another car is refused until it is among the `confirmed`. `seen` is the fingerprint of where
    the pieces were when the person looked: where one was moved since, nothing is noted.
    """
    check_can_write_sheet(by, sheet)
    if not isinstance(seen, Unseen) and seen != ballast_seen(sheet):
        raise WrongState("Ballast was moved since this was worked out. Look at it again.")
    sheet = locked_set_sheet(by, sheet)
    pieces = BallastPiece.objects.select_related("team", "mount", "car").in_bulk(
        [p for p, _ in moves]
    )
    mounts = BallastMount.objects.in_bulk([mount for _, mount in moves if mount])
    if not moves or len(pieces) < len(moves) or any(m and m not in mounts for _, m in moves):
        raise Invalid("move", "Say which piece goes where.")
    going_on = [pieces[piece] for piece, mount in moves if mount]
    _check_marks(going_on, sheet, confirmed)
    before, at = _marked_on(sheet), timezone.now()
    done = [
        _fit(by, sheet, pieces[piece], mounts[mount] if mount else None, at)
        for piece, mount in moves
    ]
    _total(by, sheet, before, at)
    return done


def _check_marks(pieces: Sequence[BallastPiece], sheet: Sheet, confirmed: Collection[UUID]) -> None:
    asked = [piece for piece in marked_elsewhere(pieces, sheet.car) if piece.pk not in confirmed]
    if asked:
        text = "; ".join(marked_elsewhere_message(piece, sheet.car) for piece in asked)
        raise Invalid(
            "confirmed", f"{text[0].upper()}{text[1:]}. Say that it is meant, or leave it out."
        )


def _fit(
    by: User, sheet: Sheet, piece: BallastPiece, mount: BallastMount | None, at: datetime
) -> BallastPiece:
    was_on = piece.car_id == sheet.car_id
    if piece.car_id not in {None, sheet.car_id}:
        raise WrongState(f"{piece} is on car {piece.car}. Take it off there first.")
    if not was_on and mount is None:
        raise WrongState(f"{piece} is not on this car any more.")
    mass = piece.marked_mass if mount else -piece.marked_mass
    moved_only = was_on and mount is not None
    write_change(
        by,
        sheet,
        adjuster="ballast",
        spot="car",
        amount=Decimal(1) if moved_only else round(mass, 4),
        unit="1" if moved_only else "kg",
        made_at=at,
        piece=piece,
        was_at=piece.mount,
        now_at=mount,
    )
    return move_ballast_piece(by=by, piece=piece, car=sheet.car if mount else None, mount=mount)


def _marked_on(sheet: Sheet) -> Decimal:
    """What the pieces on the car are marked together, kg."""
    rows = BallastPiece.objects.in_use().filter(car_id=sheet.car_id)
    return sum((row.marked_mass for row in rows), Decimal(0))


def _total(by: User, sheet: Sheet, before: Decimal, at: datetime) -> None:
    """The ballast on the car, as its pieces say, in the place of what they said before.

    Where more or less than that was noted, something else is on the car too: it is asked again.
    """
    stood = _standing_total(sheet)
    noted = before if stood is None or stood.value is None else stood.value
    if abs(noted - before) > (stood.resolution if stood and stood.resolution else Decimal(0)):
        return
    units = by.units(sheet.team.club.units())
    entries, seen = [_entry(_marked_on(sheet), units, at)], {TOTAL: stood.pk if stood else None}
    take_readings(by=by, sheet=sheet, entries=entries, seen=seen, anew=True)


def _entry(total: Decimal, units: Units, at: datetime) -> BoxEntry:
    text = show(total, Kind.MASS, unit=units.for_kind(Kind.MASS)).text
    typed = replace(parse(text, Kind.MASS, units=units), value=total)
    tool = Measure.objects.get(pk=TOTAL.measure).tool_resolution
    return BoxEntry(TOTAL, text, replace(typed, resolution=tool or typed.resolution), taken_at=at)


def _standing_total(sheet: Sheet) -> Reading | None:
    return Reading.objects.current().filter(sheet=sheet, measure=TOTAL.measure, take=1).first()


@action
def take_back_ballast(*, by: User, sheet: Sheet) -> list[BallastPiece]:
    """The ballast noted last on this sheet was never fitted: all is again as it was before.

    Its pieces go back, its changes no longer ask for anything, and what stood as ballast on the
    car stands again. Raises WrongState where nothing was noted, where a piece is somewhere else
    by now, and where the car was read since: then the ballast was on it, and is taken off.
    """
    check_can_write_sheet(by, sheet)
    sheet = locked_open(sheet)
    rows = last_fitted(sheet)
    if not rows:
        raise WrongState("No ballast was noted on this sheet that could be taken back.")
    _check_still_so(sheet, rows)
    at = rows[0].made_at
    with constraint_messages():
        Change.objects.filter(pk__in=[row.pk for row in rows]).update(
            taken_back_at=timezone.now(), taken_back_by=by
        )
    pieces = [_back(by, sheet, row) for row in rows]
    stood = _standing_total(sheet)
    if stood is not None and stood.taken_at == at:
        _total_back(by, sheet, stood)
    record(
        by=by,
        did="took_back",
        on=sheet,
        team_id=sheet.team_id,
        pieces=[str(piece.pk) for piece in pieces],
    )
    return pieces


def _check_still_so(sheet: Sheet, rows: Sequence[Change]) -> None:
    known, first = catalogue(), rows[0]
    for row in rows:
        piece, car = row.piece, sheet.car_id if row.now_at_id else None
        if piece is None or (piece.car_id, piece.mount_id) != (car, row.now_at_id):
            raise WrongState(f"{piece} was moved since. Move it where it is now.")
    since = Reading.objects.filter(sheet=sheet, taken_at__gt=first.made_at)
    for reading in since.select_related("measure"):
        measure = reading.measure
        if makes_stale(first, measure.pk, measure.step_id, reading.spot, known):
            raise WrongState(
                "The car was read with this ballast on it since. Note the pieces as taken off."
            )


def _back(by: User, sheet: Sheet, row: Change) -> BallastPiece:
    """A piece where it was: on the shelf if it was fitted then, on the car if it came off."""
    if row.piece is None:
        raise ValueError("a change of ballast without its piece")
    car = sheet.car if row.unit == "1" or row.amount < 0 else None
    return move_ballast_piece(by=by, piece=row.piece, car=car, mount=row.was_at)


def _total_back(by: User, sheet: Sheet, stood: Reading) -> None:
    """What the acceptance replaced stands again; the box is emptied where it replaced nothing."""
    replaced = Reading.objects.filter(
        sheet=sheet, measure=TOTAL.measure, take=1, replaced_at__gte=stood.taken_at
    )
    if replaced.exists():
        put_back_reading(by=by, sheet=sheet, key=TOTAL, seen=stood.pk)
    else:
        take_readings(by=by, sheet=sheet, entries=[BoxEntry(TOTAL, "")], seen={TOTAL: stood.pk})
