"""Which of the team's parts is where on a car, as a sheet has it."""

from collections.abc import Collection
from decimal import Decimal
from uuid import UUID

from django.utils import timezone

from cars.catalogue.keys import Key
from cars.constraint_messages import constraint_messages
from cars.figures.box_entries import read_entry
from cars.figures.formatting import format_rate_of
from cars.models import Measure, Part, PartFitted, Sheet, TrackChange
from cars.permissions import check_can_fit_part
from cars.sheets.actions.changes import write_change
from cars.sheets.actions.conflicts import OVER_ANYTHING, Unseen
from cars.sheets.actions.readings import locked_open, take_readings
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.models import User

RATE = "spring-rate"


@action
def fit_part(
    *,
    by: User,
    sheet: Sheet,
    sort: str,
    spot: str,
    part: Part | None,
    seen: UUID | Unseen | None,
) -> PartFitted | None:
    """Puts a part on the car, or says (`None`) that none of the team's is there.

    The one that stood there is kept as replaced, and its swap is noted as a change, so that what
    it touches is asked for again; on a sheet as found another part is a better look at what was
    there, and no swap. A spring brings its rate: the reading says what the part says, until a hand
    types another. The same part again does nothing. No mark reaches the trail.
    `seen` is the part that the person saw there, None for none: raises WrongState where somebody
    has put another there since.
    """
    check_can_fit_part(by, sheet)
    sheet = locked_open(sheet)
    _check(sheet, sort, spot, part)
    was = PartFitted.objects.current().filter(sheet=sheet, sort=sort, spot=spot).first()
    if (was.part_id if was else None) == (part.pk if part else None):
        return was
    if not isinstance(seen, Unseen) and (was.part_id if was else None) != seen:
        raise WrongState(f"Another {sort} is at {spot} than when you looked. Look again.")
    _replace(by, was)
    swapped = was is not None and sheet.role != Sheet.Role.FOUND
    if swapped and part is not None:
        adjuster = part.Sort(sort).adjuster
        write_change(by, sheet, adjuster=adjuster, spot=spot, amount=Decimal(1), unit="1")
    fitted = _fit(by, sheet, spot, part) if part else None
    record(
        by=by,
        did="fitted" if part else "unfitted",
        on=sheet,
        team_id=sheet.team_id,
        sort=sort,
        spot=spot,
    )
    if part is not None and part.rate is not None:
        _take_rate(by, sheet, spot, part, anew=swapped)
    return fitted


def copy_parts(
    source: Sheet, to: Sheet, by: User, *, swapped: Collection[TrackChange] = ()
) -> None:
    """The parts that are on the car by `source`, onto `to`, as far as `by` may see and write; none
    that was swapped since."""
    gone = {(change.adjuster, change.spot) for change in swapped}
    rows = [
        row
        for row in PartFitted.objects.current().filter(sheet=source)
        if (Part.Sort(row.sort).adjuster, row.spot) not in gone
    ]
    PartFitted.objects.bulk_create(
        PartFitted(
            sheet=to, team_id=to.team_id, part_id=row.part_id, sort=row.sort, spot=row.spot, by=by
        )
        for row in rows
    )


def check_place(sort: str, spot: str) -> None:
    """Raises Invalid for no sort of part, and for a spot where there is none of it."""
    if sort not in Part.Sort.values:
        raise Invalid("sort", f"Choose one of: {', '.join(Part.Sort.values)}.")
    spots = Part.Sort(sort).spots
    if spot not in spots:
        raise Invalid("spot", f"A {sort} is at one of: {', '.join(spots)}.")


def _check(sheet: Sheet, sort: str, spot: str, part: Part | None) -> None:
    check_place(sort, spot)
    if part is not None and (part.team_id != sheet.team_id or part.sort != sort):
        raise Invalid("part", f"Choose a {sort} of the team that has the car.")


def _replace(by: User, was: PartFitted | None) -> None:
    if was is None:
        return
    with constraint_messages():
        PartFitted.objects.filter(pk=was.pk).update(replaced_at=timezone.now(), replaced_by=by)


def _fit(by: User, sheet: Sheet, spot: str, part: Part) -> PartFitted:
    row = PartFitted(
        sheet=sheet, team_id=sheet.team_id, part=part, sort=part.sort, spot=spot, by=by
    )
    with constraint_messages():
        row.save(force_insert=True)
    return row


def _take_rate(by: User, sheet: Sheet, spot: str, part: Part, *, anew: bool) -> None:
    units = by.units(sheet.team.club.units())
    measure = Measure.objects.get(pk=RATE)
    entry = read_entry(measure, Key(RATE, spot), format_rate_of(part, units), units)
    # The part says its rate, whatever somebody read before it was fitted.
    take_readings(by=by, sheet=sheet, entries=[entry], seen=OVER_ANYTHING, anew=anew)
