"""Writing what clubs and teams keep: who may, what is refused, and the trail of it."""

from collections.abc import Callable
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import ProgrammingError
from django.utils import timezone

from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed, parse
from teams.actions import clubs, drivers, places, teams
from teams.models import (
    Club,
    ClubMember,
    CoachLink,
    Driver,
    DriverBirth,
    DriverWeight,
    RaceClass,
    Team,
    TeamMember,
    Track,
)
from tests.people import People, join
from tests.teams.conftest import EVERYBODY, Things, fresh


def mass(text: str) -> Typed:
    return parse(text, Kind.MASS)


def length(text: str) -> Typed:
    return parse(text, Kind.LENGTH)


Doing = Callable[[User, People, Things], object]


STEWARDS_ALONE: dict[str, Doing] = {
    "make a team": lambda by, p, t: teams.make_team(by=by, club=p.club, name="Larks"),
    "add a track": lambda by, p, t: places.add_track(
        by=by, club=p.club, name="Bowl", surface="dirt"
    ),
    "change a track": lambda by, p, t: places.change_track(
        by=by, track=t.track, name="Bowl", surface="dirt"
    ),
    "add a class": lambda by, p, t: places.add_race_class(by=by, club=p.club, name="Novice"),
    "set the club's units": lambda by, p, t: clubs.set_club_units(
        by=by, club=p.club, units={"mass": "kg"}
    ),
    "let officials' tablets rest": lambda by, p, t: clubs.set_club_idle_minutes(
        by=by, club=p.club, minutes=20
    ),
    "set the club's time zone": lambda by, p, t: clubs.set_club_time_zone(
        by=by, club=p.club, time_zone="America/Chicago"
    ),
}
CHIEFS_ALONE: dict[str, Doing] = {
    "link a coach": lambda by, p, t: teams.link_coach(by=by, team=p.team, coach=p.unlinked_coach),
    "change a link": lambda by, p, t: teams.link_coach(
        by=by, team=p.team, coach=p.coach, may_write=True
    ),
}
CREWS: dict[str, Doing] = {
    "add a driver": lambda by, p, t: drivers.add_driver(by=by, team=p.team, display_name="Juno"),
    "rename a driver": lambda by, p, t: drivers.rename_driver(
        by=by, driver=t.driver, display_name="Pippa"
    ),
    "set a birth date": lambda by, p, t: drivers.set_birth_date(
        by=by, driver=t.driver, birth_date=date(2015, 5, 5)
    ),
    "log a weight": lambda by, p, t: drivers.log_driver_weight(
        by=by, driver=t.driver, weighed_on=date(2026, 4, 1), mass=mass("72 lb")
    ),
    "strike a weight": lambda by, p, t: drivers.remove_driver_weight(by=by, weight=t.weight),
}
TABLE = [
    *((name, doing, {"steward"}) for name, doing in STEWARDS_ALONE.items()),
    *((name, doing, {"chief"}) for name, doing in CHIEFS_ALONE.items()),
    *((name, doing, {"chief", "crew"}) for name, doing in CREWS.items()),
]


@pytest.mark.parametrize(("doing", "allowed"), [t[1:] for t in TABLE], ids=[t[0] for t in TABLE])
@pytest.mark.parametrize("name", EVERYBODY)
def test_only_those_who_may_do_it_and_it_is_in_the_trail_once(
    people: People, things: Things, name: str, doing: Doing, allowed: set[str]
) -> None:
    by = fresh(getattr(people, name))
    with viewing_as(by.pk):
        before = TrailLine.objects.filter(by=by).count()
        if name in allowed:
            doing(by, people, things)
            [row] = TrailLine.objects.filter(by=by).order_by("-pk")[:1]
            assert TrailLine.objects.filter(by=by).count() == before + 1
            assert (row.club_id, row.team_id) in (
                (people.club.pk, None),
                (None, people.team.pk),
            )
        else:
            with pytest.raises(NotAllowed):
                doing(by, people, things)
            assert TrailLine.objects.filter(by=by).count() == before


@pytest.mark.parametrize("doing", STEWARDS_ALONE.values(), ids=list(STEWARDS_ALONE))
def test_a_stewards_doing_without_its_trail_saves_nothing(
    people: People, things: Things, doing: Doing
) -> None:
    """The trail refuses a line written in another one's name; here everything else is allowed."""
    join(fresh(people.steward), people.stranger, people.club, "steward")
    refused_by_the_trail(
        fresh(people.steward), people.stranger, lambda by: doing(by, people, things)
    )


@pytest.mark.parametrize("doing", CREWS.values(), ids=list(CREWS))
def test_a_crews_doing_without_its_trail_saves_nothing(
    people: People, things: Things, doing: Doing
) -> None:
    refused_by_the_trail(fresh(people.chief), people.crew, lambda by: doing(by, people, things))


@pytest.mark.parametrize("doing", CHIEFS_ALONE.values(), ids=list(CHIEFS_ALONE))
def test_a_chiefs_doing_without_its_trail_saves_nothing(
    people: People, things: Things, doing: Doing
) -> None:
    join(fresh(people.chief), people.stranger, people.club, "chief", people.team)
    refused_by_the_trail(fresh(people.chief), people.stranger, lambda by: doing(by, people, things))


def refused_by_the_trail(by: User, viewer: User, doing: Callable[[User], object]) -> None:
    def everything() -> list[list[Any]]:
        models = (Club, CoachLink, Driver, DriverBirth, DriverWeight, RaceClass, Team, Track)
        return [list(model.objects.order_by("pk").values()) for model in models]

    with viewing_as(viewer.pk):
        before = everything()
    with (
        pytest.raises(ProgrammingError, match='policy for table "access_trailline"'),
        viewing_as(viewer.pk),
    ):
        doing(by)
    with viewing_as(viewer.pk):
        assert everything() == before


class TestClubs:
    def test_a_club_begins_with_its_first_steward(self, people: People) -> None:
        stranger = fresh(people.stranger)
        with viewing_as(stranger.pk):
            club = clubs.found_club(by=stranger, name="Ash Lane", short_name="ash-lane")
            assert ClubMember.objects.get(club=club).role == "steward"
            teams.make_team(by=stranger, club=club, name="Finches")

    @pytest.mark.parametrize("units", [{"mass": "mm"}, {"speed": "knots"}, {"colour": "red"}])
    def test_units_that_are_none_are_refused(self, people: People, units: dict[str, str]) -> None:
        steward = fresh(people.steward)
        with viewing_as(steward.pk), pytest.raises(Invalid) as refused:
            clubs.set_club_units(by=steward, club=people.club, units=units)
        assert refused.value.field == "preferred_units"

    def test_a_person_over_the_club_over_the_usual(self, people: People) -> None:
        steward = fresh(people.steward)
        with viewing_as(steward.pk):
            club = clubs.set_club_units(
                by=steward, club=people.club, units={"mass": "kg", "length": "mm", "speed": ""}
            )
        people.crew.preferred_units = {"mass": "lb"}
        units = people.crew.units(club.units())
        assert (units.mass, units.length, units.speed) == ("lb", "mm", "mph")

    def test_the_last_steward_stays(self, people: People) -> None:
        steward = fresh(people.steward)
        with viewing_as(steward.pk):
            mine = ClubMember.objects.get(user=steward, role="steward")
            with pytest.raises(WrongState, match="without a steward"):
                clubs.remove_club_member(by=steward, member=mine)
        join(steward, people.stranger, people.club, "steward")
        with viewing_as(steward.pk):
            clubs.remove_club_member(by=steward, member=mine)
        with viewing_as(steward.pk), pytest.raises(NotAllowed):
            teams.make_team(by=steward, club=people.club, name="Larks")

    def test_a_role_is_laid_down_by_its_holder_or_taken_by_a_steward_alone(
        self, people: People
    ) -> None:
        with viewing_as(people.steward.pk):
            member = ClubMember.objects.get(user=people.official)
        for name in ("coach", "chief", "unlinked_coach"):
            other = fresh(getattr(people, name))
            with viewing_as(other.pk), pytest.raises(NotAllowed):
                clubs.remove_club_member(by=other, member=member)
        official = fresh(people.official)
        with viewing_as(official.pk):
            clubs.remove_club_member(by=official, member=member)
            assert not Club.objects.exists()

    @pytest.mark.parametrize("name", ["", "  ", "Wrens"])
    def test_a_team_has_a_name_of_its_own(self, people: People, name: str) -> None:
        steward = fresh(people.steward)
        with viewing_as(steward.pk), pytest.raises(Invalid) as refused:
            teams.make_team(by=steward, club=people.club, name=name)
        assert refused.value.field == "name"

    def test_another_club_may_use_the_name_too(self, people: People) -> None:
        other = fresh(people.other_steward)
        with viewing_as(other.pk):
            teams.make_team(by=other, club=people.other_club, name="Wrens")


class TestTeams:
    def member(self, people: People, user: User) -> TeamMember:
        with viewing_as(people.chief.pk):
            return TeamMember.objects.select_related("team").get(team=people.team, user=user)

    @pytest.mark.parametrize("name", [n for n in EVERYBODY if n not in ("chief",)])
    def test_only_a_chief_changes_roles(self, people: People, name: str) -> None:
        by = fresh(getattr(people, name))
        member = self.member(people, people.guest)
        with viewing_as(by.pk), pytest.raises(NotAllowed):
            teams.set_team_role(by=by, member=member, role="chief")

    def test_a_role_that_is_none_is_refused(self, people: People) -> None:
        chief = fresh(people.chief)
        with viewing_as(chief.pk), pytest.raises(Invalid):
            teams.set_team_role(by=chief, member=self.member(people, people.guest), role="king")

    def test_the_last_chief_stays_chief_and_stays(self, people: People) -> None:
        chief = fresh(people.chief)
        mine = self.member(people, people.chief)
        with viewing_as(chief.pk):
            for role in ("crew", "guest"):
                with pytest.raises(WrongState, match="without a chief"):
                    teams.set_team_role(by=chief, member=mine, role=role)
            with pytest.raises(WrongState, match="without a chief"):
                teams.remove_team_member(by=chief, member=mine)
            teams.set_team_role(by=chief, member=mine, role="chief")
            teams.set_team_role(by=chief, member=self.member(people, people.crew), role="chief")
            teams.set_team_role(by=chief, member=self.member(people, people.chief), role="guest")
            with pytest.raises(NotAllowed):
                drivers.add_driver(by=chief, team=people.team, display_name="Juno")

    def test_a_member_leaves_and_sees_nothing_more(self, people: People, things: Things) -> None:
        crew = fresh(people.crew)
        member = self.member(people, people.crew)
        with viewing_as(crew.pk):
            assert Driver.objects.exists()
            teams.remove_team_member(by=crew, member=member)
            assert not Driver.objects.exists()
            assert not Team.objects.exists()

    @pytest.mark.parametrize("name", ["crew", "coach", "steward", "rival", "stranger"])
    def test_nobody_but_a_chief_removes_another_one(self, people: People, name: str) -> None:
        by = fresh(getattr(people, name))
        member = self.member(people, people.guest)
        with viewing_as(by.pk), pytest.raises(NotAllowed):
            teams.remove_team_member(by=by, member=member)


class TestCoaches:
    def test_only_a_coach_of_the_club_is_let_in(self, people: People) -> None:
        chief = fresh(people.chief)
        for who in (people.official, people.crew, people.stranger):
            with viewing_as(chief.pk), pytest.raises(Invalid) as refused:
                teams.link_coach(by=chief, team=people.team, coach=who)
            assert refused.value.field == "coach"

    def test_the_coach_sees_the_drivers_until_the_link_ends(
        self, people: People, things: Things
    ) -> None:
        coach = fresh(people.coach)
        with viewing_as(coach.pk):
            assert Driver.objects.count() == 1
            assert DriverWeight.objects.count() == 1
            assert not DriverBirth.objects.exists()
            link = CoachLink.objects.select_related("team").get()
            teams.unlink_coach(by=coach, link=link)
            assert not Driver.objects.exists()
            assert not DriverWeight.objects.exists()

    @pytest.mark.parametrize("name", ["crew", "guest", "steward", "unlinked_coach", "rival"])
    def test_nobody_else_ends_a_link(self, people: People, name: str) -> None:
        with viewing_as(people.chief.pk):
            link = CoachLink.objects.select_related("team").get()
        by = fresh(getattr(people, name))
        with viewing_as(by.pk), pytest.raises(NotAllowed):
            teams.unlink_coach(by=by, link=link)

    def test_asked_again_it_changes_the_one_link(self, people: People) -> None:
        chief = fresh(people.chief)
        with viewing_as(chief.pk):
            teams.link_coach(by=chief, team=people.team, coach=people.coach, may_see_codes=True)
            link = CoachLink.objects.get()
        assert (link.may_write, link.may_see_codes) == (False, True)


class TestDrivers:
    @pytest.mark.parametrize("name", ["", "  ", "Pip", " Pip "])
    def test_a_name_of_their_own(self, people: People, things: Things, name: str) -> None:
        crew = fresh(people.crew)
        with viewing_as(crew.pk), pytest.raises(Invalid) as refused:
            drivers.add_driver(by=crew, team=people.team, display_name=name)
        assert refused.value.field == "display_name"

    def test_keeping_the_name_is_no_clash(self, people: People, things: Things) -> None:
        crew = fresh(people.crew)
        with viewing_as(crew.pk):
            drivers.rename_driver(by=crew, driver=things.driver, display_name="Pip")

    @pytest.mark.parametrize("day", [date(1989, 5, 5), date(2036, 1, 1)])
    def test_a_birth_date_lies_in_the_past(self, people: People, things: Things, day: date) -> None:
        crew = fresh(people.crew)
        with viewing_as(crew.pk), pytest.raises(Invalid) as refused:
            drivers.set_birth_date(by=crew, driver=things.driver, birth_date=day)
        assert refused.value.field == "birth_date"

    def test_the_trail_does_not_tell_a_birth_date_or_a_weight(
        self, people: People, things: Things
    ) -> None:
        with viewing_as(people.chief.pk):
            kinds = ("teams.driver", "teams.driverbirth", "teams.driverweight")
            told = list(
                TrailLine.objects.filter(on_kind__in=kinds).values_list("detail", flat=True)
            )
        assert told == [{}, {}, {}]

    @pytest.mark.parametrize("text", ["9.9 kg", "161 kg", "5 oz"])
    def test_a_weight_that_cannot_be_is_refused(
        self, people: People, things: Things, text: str
    ) -> None:
        crew = fresh(people.crew)
        with viewing_as(crew.pk), pytest.raises(Invalid) as refused:
            drivers.log_driver_weight(
                by=crew, driver=things.driver, weighed_on=date(2026, 1, 1), mass=mass(text)
            )
        assert refused.value.field == "mass"

    def test_a_weight_is_not_from_the_future(self, people: People, things: Things) -> None:
        crew = fresh(people.crew)
        day = timezone.now().date() + timedelta(days=2)
        with viewing_as(crew.pk), pytest.raises(Invalid) as refused:
            drivers.log_driver_weight(
                by=crew, driver=things.driver, weighed_on=day, mass=mass("70 lb")
            )
        assert refused.value.field == "weighed_on"

    def test_a_weight_is_kept_exactly_and_as_typed(self, people: People, things: Things) -> None:
        with viewing_as(people.crew.pk):
            kept = DriverWeight.objects.get()
        assert kept.mass == Decimal("32.20505827")  # 71 * 0.45359237
        assert kept.mass_typed == "71 lb"


class TestPlaces:
    def add(self, people: People, **given: Any) -> Track:
        steward = fresh(people.steward)
        with viewing_as(steward.pk):
            return places.add_track(
                by=steward, club=people.club, **{"name": "Bowl", "surface": "dirt", **given}
            )

    def test_is_kept_exactly(self, people: People) -> None:
        track = self.add(people, corner_radius=length("30 ft"), lap_length=length("264 ft"))
        with viewing_as(people.guest.pk):
            track.refresh_from_db()
        assert (track.corner_radius, track.lap_length) == (Decimal(9144), Decimal("80467.2"))
        assert track.banking is None

    @pytest.mark.parametrize(
        ("field", "given"),
        [
            ("name", {"name": " "}),
            ("name", {"name": "Oval"}),
            ("surface", {"surface": "ice"}),
            ("corner_radius", {"corner_radius": length("0")}),
            ("lap_length", {"lap_length": length("-5 ft")}),
        ],
    )
    def test_refuses(
        self, people: People, things: Things, field: str, given: dict[str, Any]
    ) -> None:
        with pytest.raises(Invalid) as refused:
            self.add(people, **given)
        assert refused.value.field == field

    def test_a_change_writes_it_anew(self, people: People, things: Things) -> None:
        steward = fresh(people.steward)
        with viewing_as(steward.pk):
            places.change_track(by=steward, track=things.track, name="Oval", surface="dirt")
            track = Track.objects.get(pk=things.track.pk)
        assert (track.surface, track.corner_radius) == ("dirt", None)

    def test_a_class_has_a_name_of_its_own(self, people: People, things: Things) -> None:
        steward = fresh(people.steward)
        for name in ("", "Junior Stock"):
            with viewing_as(steward.pk), pytest.raises(Invalid):
                places.add_race_class(by=steward, club=people.club, name=name)
