"""What a club, a coach and a team suggest to try for what is felt."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from django.db.models import Q, QuerySet

from cars.models import Car, Suggestion, SuggestionTable
from cars.runs.queries.runs import RunNoted
from clubsetup.access.models import RowQuerySet, User
from teams.models import Club, CoachLink, Team
from teams.queries.roles import roles_of

FELT: Final = ("place", "balance", "hands", "steering", "surface", "surface_state")
FEEL_KEY: Final = (*FELT, "adjuster", "spot")
PLACES: Final = ("entry", "middle", "exit")


@dataclass(frozen=True, slots=True)
class Felt:
    """How a run felt and on what, in the values of `Feel` and `RunDetails`; empty: not said."""

    entry: str = ""
    middle: str = ""
    exit: str = ""
    hands: str = ""
    steering: str = ""
    surface: str = ""
    surface_state: str = ""


def feel_of(run: RunNoted) -> Felt:
    """What the driver said of a run; what they did not say as the handler saw it."""
    said = [run.feels[by] for by in ("driver", "handler") if by in run.feels]

    def first(name: str) -> str:
        return next((value for feel in said if (value := getattr(feel, name))), "")

    return Felt(
        **{name: first(name) for name in (*PLACES, "hands", "steering")},
        surface=run.details.surface,
        surface_state=run.details.surface_state,
    )


def section_of(row: Suggestion) -> str:
    """Where in a table a row stands: by the place in the corner, or with what names none."""
    return (row.place or "anywhere") if row.balance else "otherwise"


def suggestions_for(car: Car, felt: Felt, viewer: User) -> list[Suggestion]:
    """The published suggestions for what is felt: the team's own first, then those of its linked
    coaches, then the club's, each in the order of its table. Two queries.

    One of a higher table takes the place of a lower one for the same feel, adjuster and spot.
    """
    return _suggested(car, _is_felt(felt), viewer)


def _suggested(car: Car, wanted: Q, viewer: User) -> list[Suggestion]:
    if car.team_id not in roles_of(viewer).readable_teams:
        return []
    tables = {table.pk: table for table in tables_for(car.team)}
    rows = Suggestion.objects.filter(wanted, table__in=tables)
    for row in rows:
        row.table = tables[row.table_id]
    return _without_replaced(sorted(rows, key=lambda row: (level(row.table), row.position)))


def suggestions_on(car: Car, surface: str, viewer: User) -> list[Suggestion]:
    """The same for this surface, whatever is felt."""
    return _suggested(car, Q(surface__in=["", surface]), viewer)


def tables_for(team: Team) -> list[SuggestionTable]:
    """The published tables that a team goes by: its own, its coaches', its club's."""
    rows = SuggestionTable.objects.filter(
        Q(team=team) | _of_the_club() | Q(coach__in=_coaches_of(team)),
        club=team.club_id,
        state=SuggestionTable.State.PUBLISHED,
    )
    return sorted(rows.select_related("club", "team", "coach"), key=level)


def _of_the_club() -> Q:
    return Q(team=None, coach=None)


def _coaches_of(team: Team) -> QuerySet[CoachLink, Any]:
    return CoachLink.objects.filter(team=team).values("coach")


def tables_of_club(club: Club) -> RowQuerySet[SuggestionTable]:
    """All versions of the club's table that the viewer sees, the newest first."""
    return _versions(SuggestionTable.objects.filter(_of_the_club(), club=club))


def tables_of_coach(coach: User, club: Club) -> RowQuerySet[SuggestionTable]:
    """All versions of a coach's own table in a club, the newest first."""
    return _versions(SuggestionTable.objects.filter(coach=coach, club=club))


def tables_of_team(team: Team) -> RowQuerySet[SuggestionTable]:
    """All versions of a team's own table, the newest first."""
    return _versions(SuggestionTable.objects.filter(team=team))


def _versions(rows: RowQuerySet[SuggestionTable]) -> RowQuerySet[SuggestionTable]:
    return rows.select_related("club", "team", "coach").order_by("-version", "-pk")


def level(table: SuggestionTable) -> int:
    """0 for a team's own table, 1 for a coach's, 2 for the club's."""
    if table.team_id is not None:
        return 0
    return 1 if table.coach_id is not None else 2


def _is_felt(felt: Felt) -> Q:
    """All that a row asks for is felt; what it leaves empty may be anything."""
    at = {place: getattr(felt, place) for place in PLACES}
    balance = Q(balance="") | Q(place="", balance__in=[one for one in at.values() if one])
    for place, one in at.items():
        if one:
            balance |= Q(place=place, balance=one)
    named = ("hands", "steering", "surface", "surface_state")
    return balance & Q(**{f"{name}__in": ["", getattr(felt, name)] for name in named})


def feel_key(row: Suggestion) -> tuple[str, ...]:
    """For which feel a row is, and what of the car it changes: one of a table has it once."""
    return tuple(getattr(row, name) for name in FEEL_KEY)


def _without_replaced(rows: Iterable[Suggestion]) -> list[Suggestion]:
    """Those that no row of a higher table stands in the place of; coaches stand side by side."""
    highest: dict[tuple[str, ...], int] = {}
    kept = []
    for row in rows:
        if highest.setdefault(feel_key(row), level(row.table)) == level(row.table):
            kept.append(row)
    return kept
