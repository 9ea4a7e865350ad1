"""What a list of the API asks for by name is what its policy shows anyway, and has an index."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any
from uuid import UUID

import pytest
from django.db.models import Model, Q, QuerySet
from django.test import Client
from django.urls import resolve

from cars.exchange.api.exports import Exports
from cars.models import Reading
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.api.views import Prints
from clubsetup.printing.registry import zip_keys
from events.models import Entry, WeighIn
from teams.api.base import ListsOfTeams, ListsOwnRows
from teams.models import ClubMember
from teams.queries.roles import forget_roles, roles_of
from tests.guards.test_api import BASE, OPERATIONS, ask
from tests.guards.world import World, undone
from tests.owner import as_owner, bend
from tests.people import browser_of

# Lists that ask for nobody's rows by name, and why.
UNNAMED = {
    "measures": "the catalogue is one for all clubs",
    "steps": "the catalogue is one for all clubs",
    "me/sign-ins": "a person's few browsers",
    "me/tokens": "a person's few tokens",
}


def _lists() -> dict[str, type[Any]]:
    found = {}
    for operation in OPERATIONS:
        method, path = operation.split()
        if method == "get" and "{" not in path:
            view = getattr(resolve(f"/{BASE.strip('/')}/{path}").func, "cls", None)
            if view is not None and hasattr(view, "list"):
                found[path] = view
    return found


LISTS = _lists()
NAMED = {path: LISTS[path] for path in sorted(LISTS.keys() - UNNAMED)}


@pytest.fixture(scope="module")
def clients(world: World) -> dict[str, Client]:
    """Everybody's session."""
    people = {name: person for name, person in world.who().items() if person is not None}
    return {name: browser_of(person) for name, person in people.items()}


@contextmanager
def policy_alone() -> Iterator[None]:
    """Lists ask for all rows, and row security alone decides."""

    def everything(view: Any) -> QuerySet[Model]:
        rows: QuerySet[Model] = view.queryset.all()
        return rows

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ListsOwnRows, "get_queryset", everything)
        # Both are of one table, and each is of other kinds of files.
        archives = Q(document__in=zip_keys())
        patch.setattr(Prints, "get_queryset", lambda view: everything(view).exclude(archives))
        patch.setattr(Exports, "get_queryset", lambda view: everything(view).filter(archives))
        yield


def ids(client: Client, path: str, world: World) -> list[str]:
    """What the list shows, in its order."""
    answer = ask(client, f"get {path}", world).json()
    assert answer["next"] is None
    return [row["id"] for row in answer["results"]]


def seen(path: str, world: World, people: dict[str, Client]) -> dict[str, list[str]]:
    """What each person finds in the list."""
    return {name: ids(client, path, world) for name, client in people.items()}


def _without_second_factor(world: World) -> None:
    bend(world.people.club, asks_second_factor=True)


def _coach_no_longer(world: World) -> None:
    """The club let the coach go; the link to the team is still there."""
    coach = world.people.coach
    assert as_owner("DELETE FROM teams_clubmember WHERE user_id = %s", coach.pk) == 1


def _in_two_clubs(world: World) -> None:
    """The chief is a steward in one club and an official in another one."""
    chief, people = world.people.chief, world.people
    for by, club, role in (
        (people.steward, people.club, "steward"),
        (people.other_steward, people.other_club, "official"),
    ):
        with viewing_as(by.pk):
            ClubMember(club=club, user=chief, role=role).save(force_insert=True)


def _founder_who_left(world: World) -> None:
    steward = world.people.steward
    assert as_owner("DELETE FROM teams_clubmember WHERE user_id = %s", steward.pk) == 1


# What became of whom.
STATES: dict[str, tuple[tuple[str, ...], Callable[[World], None]]] = {
    "a club asks for a second factor": (("steward", "official", "chief"), _without_second_factor),
    "a coach whom the club let go": (("coach",), _coach_no_longer),
    "in two clubs": (("chief",), _in_two_clubs),
    "a founder who left": (("steward",), _founder_who_left),
}


def test_every_list_asks_by_name() -> None:
    asks = {
        path for path, view in LISTS.items() if issubclass(view, ListsOwnRows | Prints | Exports)
    }
    assert asks == set(NAMED)
    assert set(UNNAMED) <= set(LISTS)


@pytest.mark.parametrize("path", NAMED)
def test_a_list_shows_what_its_policy_shows(
    path: str, world: World, clients: dict[str, Client]
) -> None:
    named = seen(path, world, clients)
    with policy_alone():
        assert named == seen(path, world, clients)
    assert any(named.values())
    assert named["stranger"] == []


@pytest.mark.parametrize("state", STATES)
def test_it_does_so_for_those_whose_roles_are_odd(
    state: str, world: World, clients: dict[str, Client]
) -> None:
    who, change = STATES[state]
    people = {name: clients[name] for name in who}
    with undone():
        change(world)
        named = {path: seen(path, world, people) for path in NAMED}
        with policy_alone():
            assert named == {path: seen(path, world, people) for path in NAMED}


def test_rows_of_teams_and_of_clubs(world: World) -> None:
    team, rival, club = (
        row.pk for row in (world.people.team, world.people.rival_team, world.people.club)
    )

    def teams_of(rows: QuerySet[Any]) -> set[UUID]:
        return set(rows.values_list("team_id", flat=True))

    with viewing_as(world.people.chief.pk):
        assert teams_of(Reading.objects.of_teams([team, rival])) == {team}
        assert teams_of(Reading.objects.of_teams([rival])) == set()
        assert teams_of(WeighIn.objects.of_clubs([club])) == {team}
        assert teams_of(WeighIn.objects.of_teams_or_clubs([], [club])) == {team}
        assert teams_of(WeighIn.objects.of_teams_or_clubs([team], [])) == {team}
        assert (
            teams_of(WeighIn.objects.of_teams_or_clubs([rival], [world.people.other_club.pk]))
            == set()
        )


def test_the_first_few_of_several_are_those_of_all_together(world: World) -> None:
    """A slice is put together from one of each; rows of a team and of its club come once."""
    team, rival, club = (
        row.pk for row in (world.people.team, world.people.rival_team, world.people.club)
    )

    def same(rows: QuerySet[Any], plain: QuerySet[Any]) -> None:
        assert list(rows[:2]) == list(plain[:2])
        assert list(rows[1:3]) == list(plain[1:3])
        assert list(rows[:200]) == list(plain[:200]) == list(rows) != []

    with viewing_as(world.people.chief.pk):
        readings = Reading.objects.order_by("-id")
        same(readings.of_teams([rival, team]), readings.filter(team_id__in=[rival, team]))
        entries = Entry.objects.order_by("number", "-id")
        both = entries.of_teams_or_clubs([team], [club]).filter(withdrawn_at=None)
        same(both, entries.filter(withdrawn_at=None))
        assert both[0] == entries.filter(withdrawn_at=None)[0]
        none = Reading.objects.of_teams([rival, club])
        assert list(none[:5]) == []
        whole = Reading.objects.all()
        for mixed in (none | whole, none ^ whole, none.union(whole)):
            assert len(mixed[:5]) == 5


def test_a_name_that_says_too_much_shows_no_more(world: World, clients: dict[str, Client]) -> None:
    """The policy is the wall: a list that asks for everybody's rows shows the viewer's own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ListsOfTeams, "own_rows", lambda view, rows, roles: rows)
        assert ids(clients["rival"], "readings", world) == []
        assert ids(clients["crew"], "readings", world) != []


def test_what_a_person_is_by_club_and_team(world: World) -> None:
    people = world.people
    team, club = people.team.pk, people.club.pk

    def told(person: User) -> tuple[set[UUID], ...]:
        with viewing_as(person.pk):
            forget_roles(person)
            r = roles_of(person)
        lists = (r.readable_teams, r.chief_teams, r.member_clubs, r.official_clubs)
        return tuple(set(each) for each in (*lists, r.steward_clubs, r.desk_clubs))

    nothing: set[UUID] = set()
    assert told(people.chief) == ({team}, {team}, {club}, nothing, nothing, nothing)
    assert told(people.guest) == ({team}, nothing, {club}, nothing, nothing, nothing)
    assert told(people.coach) == ({team}, nothing, {club}, nothing, nothing, nothing)
    assert told(people.unlinked_coach) == (nothing, nothing, {club}, nothing, nothing, nothing)
    assert told(people.official) == (nothing, nothing, {club}, {club}, nothing, {club})
    assert told(people.steward) == (nothing, nothing, {club}, nothing, {club}, {club})
    assert told(people.stranger) == (nothing,) * 6


@pytest.mark.parametrize("path", NAMED)
def test_each_column_that_a_list_goes_by_leads_an_index(path: str) -> None:
    model = NAMED[path].queryset.model
    lead = {index.fields[0].lstrip("-") for index in model._meta.indexes if index.fields}
    lead |= {rule.fields[0] for rule in model._meta.constraints if getattr(rule, "fields", ())}
    lead |= {field.name for field in model._meta.fields if field.db_index or field.unique}
    owners = {"team", "club", "asked_by"} & {field.name for field in model._meta.fields}
    assert owners <= lead
