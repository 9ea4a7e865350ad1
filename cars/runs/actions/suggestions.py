"""Tables of suggestions: drafted, filled, published and retired by those whose they are."""

from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Max, QuerySet
from django.utils import timezone

from cars.catalogue.adjusters import ADJUSTERS
from cars.constraint_messages import constraint_messages
from cars.models import Feel, RunDetails, Suggestion, SuggestionTable
from cars.models.suggestion import MOST_MINUTES
from cars.permissions import check_can_keep_suggestions
from cars.runs.queries.starter_suggestions import starter_suggestions
from cars.runs.queries.suggestions import FEEL_KEY, section_of
from cars.sheets.actions.changes import checked_amount
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from teams.models import Club, Surface, Team

IS_PUBLISHED = (
    "This table is published and stays as it is. Draft the next version from it and change that."
)
# What a draft begins with.
EMPTY, FROM_PUBLISHED, FROM_STARTER = "empty", "published", "starter"
LONGEST = {"why": 300, "caution": 300, "source_note": 120}


@action
def draft_suggestions(
    *,
    by: User,
    club: Club,
    team: Team | None = None,
    coach: User | None = None,
    begin: str = EMPTY,
    note: str = "",
    table_id: UUID | None = None,
) -> SuggestionTable:
    """The next version of a club's table, or of a team's or a coach's own; only those whose it is
    see a draft, and a team's readers.

    It begins empty, as a copy of the one in force, or from the starter.
    """
    table = SuggestionTable(
        pk=table_id or new_id(), club=club, team=team, coach=coach, note=note.strip()
    )
    check_can_keep_suggestions(by, table)
    if team is not None and team.club_id != club.pk:
        raise Invalid("team", f"Choose a team of {club}.")
    if team is not None and coach is not None:
        raise Invalid("team", "A table is a team's own or a coach's, not both.")
    line = _line_of(table)
    rows = _begun(line.filter(state=SuggestionTable.State.PUBLISHED).first(), begin)
    table.version = (line.aggregate(last=Max("version"))["last"] or 0) + 1
    with constraint_messages():
        table.save(force_insert=True)
    for row in rows:
        row.pk, row.table, row.club_id = new_id(), table, table.club_id
        row._state.adding = True
    Suggestion.objects.bulk_create(rows)
    _trail(by, "drafted", table, version=table.version, begun=begin, rows=len(rows))
    return table


def _begun(published: SuggestionTable | None, begin: str) -> list[Suggestion]:
    if begin == FROM_STARTER:
        return starter_suggestions()
    if begin == EMPTY:
        return []
    if begin != FROM_PUBLISHED:
        raise Invalid("begin", "Choose empty, the published one or the starter.")
    if published is None:
        raise Invalid("begin", "None is published yet: begin empty or from the starter.")
    return list(published.suggestions.all())


@dataclass(frozen=True, kw_only=True)
class SuggestionGiven:
    """One row of a table as its keeper gives it; see `Suggestion`."""

    adjuster: str
    spot: str
    amount: Decimal
    unit: str
    why: str
    minutes: int
    source: str
    place: str = ""
    balance: str = ""
    hands: str = ""
    steering: str = ""
    surface: str = ""
    surface_state: str = ""
    caution: str = ""
    source_note: str = ""


@action
def add_suggestion(
    *,
    by: User,
    table: SuggestionTable,
    given: SuggestionGiven,
    suggestion_id: UUID | None = None,
) -> Suggestion:
    """A row at the end of a draft."""
    table = _held_draft(by, table)
    row = Suggestion(pk=suggestion_id or new_id(), table=table, club_id=table.club_id)
    _fill(row, given)
    row.position = (table.suggestions.aggregate(last=Max("position"))["last"] or 0) + 1
    row.save(force_insert=True)
    _trail(by, "added_suggestion", table, **_named(row))
    return row


@action
def change_suggestion(*, by: User, suggestion: Suggestion, given: SuggestionGiven) -> Suggestion:
    """Another row of a draft in place of this one."""
    table = _held_draft(by, suggestion.table)
    row = _row(table, suggestion)
    _fill(row, given)
    row.save(update_fields=list(asdict(given)))
    _trail(by, "changed_suggestion", table, **_named(row))
    return row


@action
def remove_suggestion(*, by: User, suggestion: Suggestion) -> None:
    """Takes a row out of a draft."""
    table = _held_draft(by, suggestion.table)
    row = _row(table, suggestion)
    _trail(by, "removed_suggestion", table, **_named(row))
    row.delete()


@action
def move_suggestion(*, by: User, suggestion: Suggestion, up: bool) -> Suggestion:
    """Puts a row of a draft before the one above it, or after the one below it, of those for the
    same place in the corner. At the end of them it stays where it is."""
    table = _held_draft(by, suggestion.table)
    row = _row(table, suggestion)
    rows = list(table.suggestions.all())
    here = [place for place, each in enumerate(rows) if section_of(each) == section_of(row)]
    at = here.index(rows.index(row))
    to = at - 1 if up else at + 1
    if not 0 <= to < len(here):
        return row
    rows[here[at]], rows[here[to]] = rows[here[to]], rows[here[at]]
    for position, each in enumerate(rows, start=1):
        each.position = position
    Suggestion.objects.bulk_update(rows, ["position"])
    _trail(by, "moved_suggestion", table, up=up, **_named(row))
    return rows[here[to]]


@action
def throw_away_draft(*, by: User, table: SuggestionTable) -> None:
    """A draft and its rows are gone; what was in force stays so."""
    table = _held_draft(by, table)
    rows = table.suggestions.count()
    _trail(by, "threw_away", table, version=table.version, rows=rows)
    table.delete()


@action
def publish_suggestions(*, by: User, table: SuggestionTable, note: str = "") -> SuggestionTable:
    """Puts a draft in force; the version that was in force is retired.

    A `note` replaces the draft's; from version 2 on one of them says what changed.
    """
    check_can_keep_suggestions(by, table)
    _hold_line(table)
    table = _held_draft(by, table)
    if not table.suggestions.exists():
        raise WrongState("This draft has no suggestion yet. Add at least one before publishing it.")
    table.note = note.strip() or table.note
    if table.version > 1 and not table.note:
        raise Invalid("note", "Say in a few words what changed since the version before.")
    for old in _line_of(table).filter(state=SuggestionTable.State.PUBLISHED):
        _retire(by, old)
    table.state = SuggestionTable.State.PUBLISHED
    table.published_at, table.published_by = timezone.now(), by
    table.save(update_fields=["state", "note", "published_at", "published_by"])
    _trail(by, "published", table, version=table.version)
    return table


@action
def retire_suggestions(*, by: User, table: SuggestionTable) -> SuggestionTable:
    """Takes what is in force out of it, with nothing in its place."""
    check_can_keep_suggestions(by, table)
    table = _held(table)
    if table.state != SuggestionTable.State.PUBLISHED:
        raise WrongState("Only a table that is in force can be retired.")
    _retire(by, table)
    return table


def _retire(by: User, table: SuggestionTable) -> None:
    table.state = SuggestionTable.State.RETIRED
    table.save(update_fields=["state"])
    _trail(by, "retired", table, version=table.version)


def _line_of(table: SuggestionTable) -> QuerySet[SuggestionTable]:
    """All versions of whose table it is."""
    return SuggestionTable.objects.filter(club=table.club, team=table.team, coach=table.coach)


def _hold_line(table: SuggestionTable) -> None:
    """Holds what is in force and every draft, in the order of their ids: one is published at a
    time, and the next retires it."""
    held = _line_of(table).exclude(state=SuggestionTable.State.RETIRED).order_by("pk")
    list(held.select_for_update(of=("self",)).values_list("pk", flat=True))


def _held(table: SuggestionTable) -> SuggestionTable:
    """The table as it is now, held until the transaction ends."""
    held = SuggestionTable.objects.select_for_update(of=("self",))
    return held.select_related("club", "team", "coach").get(pk=table.pk)


def _held_draft(by: User, table: SuggestionTable) -> SuggestionTable:
    check_can_keep_suggestions(by, table)
    table = _held(table)
    if table.state != SuggestionTable.State.DRAFT:
        raise WrongState(IS_PUBLISHED)
    return table


def _row(table: SuggestionTable, suggestion: Suggestion) -> Suggestion:
    row = table.suggestions.filter(pk=suggestion.pk).first()
    if row is None:
        raise WrongState("There is no such suggestion any more.")
    return row


CHOICES = {
    "place": ("", *Suggestion.Place.values),
    "balance": ("", *Feel.Balance.values),
    "hands": ("", *Feel.Hands.values),
    "steering": ("", *Feel.Steering.values),
    "surface": ("", *Surface.values),
    "surface_state": ("", *RunDetails.SurfaceState.values),
    "source": tuple(Suggestion.Source.values),
}


def _fill(row: Suggestion, given: SuggestionGiven) -> None:
    """Writes what was given into the row. Raises Invalid for what is no suggestion."""
    values = asdict(given)
    for name, choices in CHOICES.items():
        if values[name] not in choices:
            raise Invalid(name, "Choose one of those offered.")
    values["amount"] = _checked_change(given)
    _check_felt(given)
    for name, most in LONGEST.items():
        values[name] = values[name].strip()
        if len(values[name]) > most:
            raise Invalid(name, f"Say it in at most {most} letters.")
    if not values["why"]:
        raise Invalid("why", "Say in one sentence what it does to the car.")
    if not 1 <= given.minutes <= MOST_MINUTES:
        raise Invalid("minutes", f"Say how long it takes: 1 to {MOST_MINUTES} minutes.")
    for name, value in values.items():
        setattr(row, name, value)
    _check_alone(row)


def _checked_change(given: SuggestionGiven) -> Decimal:
    adjuster = ADJUSTERS.get(given.adjuster)
    if adjuster is None or not adjuster.units:
        raise Invalid("adjuster", "Choose what is adjusted.")
    if given.spot not in adjuster.spots:
        at = ", ".join(adjuster.spots)
        raise Invalid("spot", f"Choose where the {adjuster.name} is: {at}.")
    if given.unit not in adjuster.units:
        units = " or ".join(adjuster.units)
        raise Invalid("unit", f"Say how much of the {adjuster.name} in: {units}.")
    return checked_amount(given.adjuster, given.spot, given.amount, given.unit)


def _check_felt(given: SuggestionGiven) -> None:
    if given.place and not given.balance:
        raise Invalid("balance", "Say what the car does there: pushes, turns or loose.")
    if not (given.balance or given.hands or given.steering or given.surface_state):
        raise Invalid(
            "balance",
            "Say what is felt: what the car does, where the hands are, the steering or the state "
            "of the track.",
        )


def _check_alone(row: Suggestion) -> None:
    same = {name: getattr(row, name) for name in FEEL_KEY}
    if row.table.suggestions.filter(**same).exclude(pk=row.pk).exists():
        raise Invalid(
            "adjuster", "The table says this of the same feel and spot already: change that row."
        )


def _named(row: Suggestion) -> dict[str, Any]:
    names = ("adjuster", "spot", "unit")
    return {**{name: getattr(row, name) for name in names}, "amount": str(row.amount)}


def _trail(by: User, did: str, table: SuggestionTable, **detail: Any) -> None:
    """In the team's trail for its own table, in the club's for the club's; a coach's is the
    coach's own."""
    club_id = table.club_id if table.team_id is None and table.coach_id is None else None
    record(by=by, did=did, on=table, club_id=club_id, team_id=table.team_id, **detail)
