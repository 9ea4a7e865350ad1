"""The pages of clubs, teams and drivers: who gets which, and what stands on them."""

import html
import re
from collections.abc import Callable
from uuid import UUID

import pytest
from django.test import Client
from django.urls import reverse

from clubsetup.access.viewer import viewing_as
from teams.actions.teams import make_team
from teams.models import (
    ClubMember,
    CoachLink,
    Driver,
    DriverBirth,
    DriverWeight,
    Invitation,
    RaceClass,
    Team,
    TeamMember,
    Track,
)
from tests.answers import Answer
from tests.people import People
from tests.teams.conftest import EVERYBODY, IN_CLUB, IN_TEAM, Things, fresh

SignedIn = Callable[[str], Client]
Of = Callable[[People, Things], object]


def of_club(people: People, things: Things) -> object:
    return people.club.pk


def of_team(people: People, things: Things) -> object:
    return people.team.pk


def of_driver(people: People, things: Things) -> object:
    return things.driver.pk


def of_track(people: People, things: Things) -> object:
    return things.track.pk


def of_guest(people: People, things: Things) -> object:
    with viewing_as(people.chief.pk):
        return TeamMember.objects.get(user=people.guest).pk


def of_link(people: People, things: Things) -> UUID:
    with viewing_as(people.chief.pk):
        return CoachLink.objects.get().pk


INSIDE = {*IN_TEAM, "coach"}
MEMBERS_SEEN_BY = {*INSIDE, "steward"}
LINKS_SEEN_BY = {*IN_TEAM, "coach", "steward"}
# Name of the page, of what, who sees it (200), who sees the thing and not the page (403).
PAGES: list[tuple[str, Of, set[str], set[str]]] = [
    ("club", of_club, set(IN_CLUB), set()),
    *(
        (name, of_club, {"steward"}, set(IN_CLUB) - {"steward"})
        for name in (
            *(
                "club-invite",
                "club-units",
                "club-time-zone",
                "club-tablets",
                "team-new",
                "track-new",
                "race-class-new",
            ),
            "club-trail",
        )
    ),
    ("track-change", of_track, {"steward"}, set(IN_CLUB) - {"steward"}),
    ("team", of_team, set(IN_CLUB), set()),
    ("team-invite", of_team, {"chief"}, set(IN_CLUB) - {"chief"}),
    ("coach-new", of_team, {"chief"}, set(IN_CLUB) - {"chief"}),
    ("driver-new", of_team, {"chief", "crew"}, set(IN_CLUB) - {"chief", "crew"}),
    ("team-trail", of_team, {"chief", "crew"}, set(IN_CLUB) - {"chief", "crew"}),
    ("team-member-role", of_guest, {"chief"}, MEMBERS_SEEN_BY - {"chief"}),
    ("coach-change", of_link, {"chief"}, LINKS_SEEN_BY - {"chief"}),
    ("driver", of_driver, INSIDE, set()),
    *(
        (name, of_driver, {"chief", "crew"}, {"guest", "coach"})
        for name in ("driver-rename", "driver-birth-date", "driver-weight-new")
    ),
]


@pytest.mark.parametrize(("name", "of", "seen", "refused"), PAGES, ids=[p[0] for p in PAGES])
def test_who_gets_the_page(
    people: People,
    things: Things,
    signed_in: SignedIn,
    name: str,
    of: Of,
    seen: set[str],
    refused: set[str],
) -> None:
    path = reverse(name, args=[of(people, things)])
    found = {who: signed_in(who).get(path).status_code for who in EVERYBODY}
    wanted = {who: 200 if who in seen else 403 if who in refused else 404 for who in EVERYBODY}
    assert found == wanted
    out = Client().get(path)
    assert out["Location"] == f"/accounts/login/?next={path}"


BUTTONS: list[tuple[str, Of, set[str], set[str]]] = [
    ("team-member-remove", of_guest, {"chief", "guest"}, MEMBERS_SEEN_BY - {"chief", "guest"}),
    ("coach-remove", of_link, {"chief", "coach"}, LINKS_SEEN_BY - {"chief", "coach"}),
    (
        "driver-weight-remove",
        lambda p, t: t.weight.pk,
        {"chief", "crew"},
        {"coach"},  # a guest does not see weights
    ),
    (
        "club-member-remove",
        lambda p, t: _official(p),
        {"steward", "official"},
        set(IN_CLUB) - {"steward", "official"},
    ),
]


def _official(people: People) -> object:
    with viewing_as(people.steward.pk):
        return ClubMember.objects.get(user=people.official).pk


@pytest.mark.parametrize(("name", "of", "may", "refused"), BUTTONS, ids=[b[0] for b in BUTTONS])
@pytest.mark.parametrize("who", EVERYBODY)
def test_who_may_press_the_button(
    people: People,
    things: Things,
    signed_in: SignedIn,
    who: str,
    name: str,
    of: Of,
    may: set[str],
    refused: set[str],
) -> None:
    path = reverse(name, args=[of(people, things)])
    client = signed_in(who)
    barred = 403 if who in refused else 404
    asked = 200 if who in may else barred
    assert client.get(path).status_code == (asked if name == "coach-remove" else 405)
    assert client.post(path).status_code == (302 if who in may else barred)


def text(answer: Answer) -> str:
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", answer.content.decode())


class TestWhatStandsOnThem:
    def club(self, client: Client, people: People) -> str:
        return text(client.get(reverse("club", args=[people.club.pk])))

    def team(self, client: Client, people: People) -> str:
        return text(client.get(reverse("team", args=[people.team.pk])))

    def test_a_club_shows_members_teams_tracks_and_classes_to_its_members(
        self, people: People, things: Things, signed_in: SignedIn
    ) -> None:
        page = self.club(signed_in("guest"), people)
        for words in ("Official", "Unlinked Coach", "Wrens", "Kestrels", "Oval", "30 ft"):
            assert words in page
        assert "Junior Stock" in page
        for words in ("Invite", "New team", "Remove", "Change"):
            assert words not in page
        assert "Invite" in self.club(signed_in("steward"), people)

    def test_a_team_without_a_chief_is_pointed_out_to_the_steward(
        self, people: People, signed_in: SignedIn
    ) -> None:
        with viewing_as(people.steward.pk):
            larks = make_team(by=fresh(people.steward), club=people.club, name="Larks")
        page = self.club(signed_in("steward"), people)
        assert page.count("no chief yet") == 1
        assert "no chief yet" not in self.club(signed_in("guest"), people)
        offered = text(signed_in("steward").get(reverse("team", args=[larks.pk])))
        assert "Invite its chief" in offered
        form = text(signed_in("steward").get(reverse("team-invite", args=[larks.pk])))
        assert 'value="chief"' in form
        assert 'value="crew"' not in form

    def test_others_of_the_club_see_that_a_team_is_there_and_no_more(
        self, people: People, things: Things, signed_in: SignedIn
    ) -> None:
        for who in ("rival", "unlinked_coach", "official"):
            page = self.team(signed_in(who), people)
            assert "Wrens" in page
            for words in ("Pip", "Crew", "Guest", "Coaches"):
                assert words not in page
        steward = self.team(signed_in("steward"), people)
        assert "Pip" not in steward
        assert "Guest" in steward

    def test_inside_everybody_sees_drivers_and_only_the_chief_changes_people(
        self, people: People, things: Things, signed_in: SignedIn
    ) -> None:
        for who in (*IN_TEAM, "coach"):
            assert "Pip" in self.team(signed_in(who), people)
        assert "Let a coach in" in self.team(signed_in("chief"), people)
        for who in ("crew", "guest", "coach"):
            page = self.team(signed_in(who), people)
            assert "Let a coach in" not in page
            assert ">Role<" not in page

    @pytest.mark.parametrize(
        ("who", "birth", "weights"),
        [
            ("chief", True, True),
            ("crew", True, True),
            ("coach", False, True),
            ("guest", False, False),
        ],
    )
    def test_a_drivers_birth_date_and_weight_are_for_those_who_need_them(
        self,
        people: People,
        things: Things,
        signed_in: SignedIn,
        who: str,
        birth: bool,
        weights: bool,
    ) -> None:
        page = text(signed_in(who).get(reverse("driver", args=[things.driver.pk])))
        assert ("2 Apr 2016" in page) is birth
        assert ("71 lb" in page) is weights

    def test_names_are_escaped(self, people: People, signed_in: SignedIn) -> None:
        client = signed_in("steward")
        path = reverse("team-new", args=[people.club.pk])
        made = client.post(path, {"name": "<script>x</script>"}, follow=True)
        assert "<script>x" not in text(made)


class TestDoing:
    def test_a_club_invitation_is_shown_once_with_its_link(
        self, people: People, signed_in: SignedIn
    ) -> None:
        client = signed_in("steward")
        path = reverse("club-invite", args=[people.club.pk])
        made = client.post(path, {"role": "coach", "note": "Iris"})
        link = re.search(r'value="http://testserver(/join/[^"]+)"', text(made))
        assert link
        assert 'data-copy="link"' in text(made)
        assert "no-store" in made["Cache-Control"]
        assert "invites you" in text(signed_in("stranger").get(link.group(1)))
        listed = text(client.get(reverse("club", args=[people.club.pk])))
        assert "Iris" in listed
        assert link.group(1) not in listed
        with viewing_as(people.steward.pk):
            invitation = Invitation.objects.get(note="Iris")
        client.post(reverse("invitation-withdraw", args=[invitation.pk]))
        assert signed_in("stranger").get(link.group(1)).status_code == 410

    def test_a_team_invitation_is_withdrawn_by_its_chief_and_not_by_the_crew(
        self, people: People, signed_in: SignedIn
    ) -> None:
        path = reverse("team-invite", args=[people.team.pk])
        made = signed_in("chief").post(path, {"role": "guest", "note": "Gran"})
        assert "/join/" in text(made)
        with viewing_as(people.chief.pk):
            invitation = Invitation.objects.get(note="Gran")
        withdraw = reverse("invitation-withdraw", args=[invitation.pk])
        assert signed_in("crew").post(withdraw).status_code == 404
        assert signed_in("chief").post(withdraw)["Location"] == reverse(
            "team", args=[people.team.pk]
        )

    def test_a_role_that_is_not_offered_is_refused(
        self, people: People, signed_in: SignedIn
    ) -> None:
        path = reverse("team-invite", args=[people.team.pk])
        answer = signed_in("chief").post(path, {"role": "steward"})
        assert "is not among its choices" in text(answer)

    def test_a_team_a_track_and_a_class_are_added(
        self, people: People, signed_in: SignedIn
    ) -> None:
        client, club = signed_in("steward"), people.club.pk
        client.post(reverse("team-new", args=[club]), {"name": "Larks"})
        shape = {"name": "Bowl", "surface": "dirt", "corner_radius": "9 m", "lap_length": "264"}
        client.post(reverse("track-new", args=[club]), shape)
        client.post(reverse("race-class-new", args=[club]), {"name": "Novice"})
        with viewing_as(people.guest.pk):
            assert Team.objects.filter(name="Larks").exists()
            track = Track.objects.get(name="Bowl")
            assert RaceClass.objects.filter(name="Novice").exists()
        # A bare number on a track is in feet for who measures in inches.
        assert (track.corner_radius, str(track.lap_length)) == (9000, "80467.2000000000")

    def test_what_a_club_has_already_is_refused_beside_the_box(
        self, people: People, things: Things, signed_in: SignedIn
    ) -> None:
        client, club = signed_in("steward"), people.club.pk
        for name, given in (
            ("team-new", {"name": "Wrens"}),
            ("track-new", {"name": "Oval", "surface": "paved"}),
            ("race-class-new", {"name": "Junior Stock"}),
        ):
            page = text(client.post(reverse(name, args=[club]), given))
            assert f'value="{given["name"]}"' in page
            assert 'id="id_name_error"' in page

    def test_a_radius_that_cannot_be_is_refused_and_stays_in_its_box(
        self, people: People, signed_in: SignedIn
    ) -> None:
        given = {"name": "Bowl", "surface": "dirt", "corner_radius": "30 psi"}
        page = text(signed_in("steward").post(reverse("track-new", args=[people.club.pk]), given))
        assert 'value="30 psi"' in page
        assert 'id="id_corner_radius_error"' in page

    def test_opening_and_saving_a_track_changes_nothing(
        self, people: People, things: Things, signed_in: SignedIn
    ) -> None:
        with viewing_as(people.steward.pk):
            shape = {"corner_radius": "9144.0001", "lap_length": "80467.3", "banking": "4.125"}
            Track.objects.update(**shape, typed={})
            before = Track.objects.values(*shape, "name", "surface").get()
        path = reverse("track-change", args=[things.track.pk])
        client = signed_in("steward")
        form = client.get(path).context["form"]
        client.post(path, {k: v for k, v in form.initial.items() if v is not None})
        with viewing_as(people.steward.pk):
            assert Track.objects.values(*before).get() == before

    def test_the_clubs_units_are_what_a_bare_number_means(
        self, people: People, things: Things, signed_in: SignedIn
    ) -> None:
        signed_in("steward").post(reverse("club-units", args=[people.club.pk]), {"mass": "kg"})
        path = reverse("driver-weight-new", args=[things.driver.pk])
        signed_in("crew").post(path, {"mass": "33.5", "weighed_on": "2026-05-01"})
        with viewing_as(people.crew.pk):
            assert DriverWeight.objects.filter(mass="33.5", mass_typed="33.5").exists()

    def test_roles_are_changed_and_the_last_chief_is_told(
        self, people: People, signed_in: SignedIn
    ) -> None:
        client = signed_in("chief")
        with viewing_as(people.chief.pk):
            crew = TeamMember.objects.get(user=people.crew)
            mine = TeamMember.objects.get(user=people.chief)
        client.post(reverse("team-member-role", args=[crew.pk]), {"role": "guest"})
        with viewing_as(people.chief.pk):
            assert TeamMember.objects.get(pk=crew.pk).role == "guest"
        page = text(client.post(reverse("team-member-role", args=[mine.pk]), {"role": "crew"}))
        assert "without a chief" in page
        answer = client.post(reverse("team-member-remove", args=[mine.pk]), follow=True)
        assert "without a chief" in text(answer)

    def test_leaving_leads_to_where_one_may_still_be(
        self, people: People, signed_in: SignedIn
    ) -> None:
        with viewing_as(people.chief.pk):
            guest = TeamMember.objects.get(user=people.guest)
        answer = signed_in("guest").post(reverse("team-member-remove", args=[guest.pk]))
        assert answer["Location"] == "/"

    def test_a_coach_is_let_in_changed_and_let_out(
        self, people: People, things: Things, signed_in: SignedIn
    ) -> None:
        client, team = signed_in("chief"), people.team.pk
        offered = text(client.get(reverse("coach-new", args=[team])))
        assert "Unlinked Coach" in offered
        assert str(people.coach.pk) not in offered
        chosen = {"coach": str(people.unlinked_coach.pk), "may_write": "on"}
        client.post(reverse("coach-new", args=[team]), chosen)
        with viewing_as(people.unlinked_coach.pk):
            link = CoachLink.objects.get()
            assert Driver.objects.count() == 1
        assert (link.may_write, link.may_see_codes) == (True, False)
        client.post(reverse("coach-change", args=[link.pk]), {"may_see_codes": "on"})
        with viewing_as(people.unlinked_coach.pk):
            link.refresh_from_db()
        assert (link.may_write, link.may_see_codes) == (False, True)
        assert client.get(reverse("coach-new", args=[team])).status_code == 302
        client.post(reverse("coach-remove", args=[link.pk]))
        with viewing_as(people.unlinked_coach.pk):
            assert not Driver.objects.exists()

    def test_nobody_who_is_no_coach_is_let_in(self, people: People, signed_in: SignedIn) -> None:
        path = reverse("coach-new", args=[people.team.pk])
        page = text(signed_in("chief").post(path, {"coach": str(people.rival.pk)}))
        assert "is not among its choices" in page

    def test_a_driver_from_name_to_weight(self, people: People, signed_in: SignedIn) -> None:
        client = signed_in("crew")
        client.post(reverse("driver-new", args=[people.team.pk]), {"display_name": "Juno"})
        with viewing_as(people.crew.pk):
            driver = Driver.objects.get(display_name="Juno")
        at = [driver.pk]
        client.post(reverse("driver-rename", args=at), {"display_name": "June"})
        client.post(reverse("driver-birth-date", args=at), {"birth_date": "2014-02-03"})
        client.post(
            reverse("driver-weight-new", args=at), {"mass": "88 1/2", "weighed_on": "2026-05-01"}
        )
        page = text(client.get(reverse("driver", args=at)))
        for words in ("June", "3 Feb 2014", "88 1/2", "1 May 2026"):
            assert words in page
        with viewing_as(people.crew.pk):
            assert DriverBirth.objects.count() == 1
            weight = DriverWeight.objects.get()
        client.post(reverse("driver-weight-remove", args=[weight.pk]))
        assert "88 1/2" not in text(client.get(reverse("driver", args=at)))

    def test_a_weight_in_the_wrong_unit_keeps_what_was_typed(
        self, people: People, things: Things, signed_in: SignedIn
    ) -> None:
        path = reverse("driver-weight-new", args=[things.driver.pk])
        page = text(signed_in("crew").post(path, {"mass": "880 lb", "weighed_on": "2026-05-01"}))
        assert 'value="880 lb"' in page
        assert "cannot be right" in page


class TestTrail:
    def test_says_who_did_what_to_whom(
        self, people: People, things: Things, signed_in: SignedIn
    ) -> None:
        page = text(signed_in("crew").get(reverse("team-trail", args=[people.team.pk])))
        for words in ("added a driver", "let a coach in", "set a driver&#x27;s birth date"):
            assert words in page
        assert "2016" not in page.replace("2026", "")

    def test_a_team_keeps_its_doings_from_the_steward(
        self, people: People, things: Things, signed_in: SignedIn
    ) -> None:
        page = text(signed_in("steward").get(reverse("club-trail", args=[people.club.pk])))
        assert "made a team" in page
        assert "added a track" in page
        for words in ("driver", "let a coach in"):
            assert words not in page

    def test_goes_back_page_by_page_and_loses_nothing(
        self, people: People, signed_in: SignedIn
    ) -> None:
        client, path = signed_in("steward"), reverse("club-trail", args=[people.club.pk])
        for i in range(60):
            client.post(reverse("team-new", args=[people.club.pk]), {"name": f"Team {i}"})
        first = text(client.get(path))
        older = re.search(r'href="(\?before=[^"]+)"', first)
        assert older
        second = text(client.get(path + older.group(1)))
        assert first.partition("<main")[2].count("<li>") == 50
        assert (first + second).count("made a team") == 62
        assert "?before=" not in second

    @pytest.mark.parametrize("before", ["x", "1", "'"])
    def test_a_page_of_it_that_is_none_is_refused(
        self, people: People, signed_in: SignedIn, before: str
    ) -> None:
        path = reverse("team-trail", args=[people.team.pk])
        assert signed_in("crew").get(path, {"before": before}).status_code == 400


class TestStart:
    def start(self, client: Client) -> str:
        return text(client.get("/"))

    @pytest.mark.parametrize(
        ("who", "there", "absent"),
        [
            ("chief", ["My team", "Wrens", "chief"], ["Teams I coach", "New team", "Kestrels"]),
            ("guest", ["My team", "Wrens", "guest"], ["Teams I coach"]),
            ("coach", ["Teams I coach", "Wrens"], ["My team", "Kestrels"]),
            ("unlinked_coach", ["Teams I coach", "No team has let you in"], ["Wrens"]),
            ("steward", ["My club", "Fernbank", "New team"], ["My team", "Marl Heath"]),
            ("official", ["My club", "Fernbank", "official"], ["My team", "New team"]),
            ("other_steward", ["Marl Heath"], ["Fernbank", "Wrens"]),
            ("stranger", ["You are in no club or team yet."], ["Fernbank", "My club"]),
        ],
    )
    def test_shows_each_what_they_came_for(
        self, people: People, signed_in: SignedIn, who: str, there: list[str], absent: list[str]
    ) -> None:
        page = self.start(signed_in(who))
        for words in there:
            assert words in page
        for words in absent:
            assert words not in page

    def test_is_for_who_is_signed_in(self, client: Client, db: None) -> None:
        assert client.get("/")["Location"] == "/accounts/login/?next=/"


class TestAskingFirst:
    """What cannot be undone names the thing and offers the way back first."""

    @pytest.mark.parametrize(
        ("who", "says"), [("chief", "End Coach's link with"), ("coach", "End your link with")]
    )
    def test_a_coach_s_link(
        self, people: People, things: Things, signed_in: SignedIn, who: str, says: str
    ) -> None:
        client, path = signed_in(who), reverse("coach-remove", args=[of_link(people, things)])
        page = client.get(reverse("team", args=[people.team.pk])).content.decode()
        assert f'href="{path}"' in page
        assert f'action="{path}"' not in page
        asked = html.unescape(text(client.get(path)))
        assert says in asked
        assert "Only a chief of the team can link a coach again" in asked
        assert asked.index("Keep it") < asked.rindex("End the link")
        with viewing_as(people.coach.pk):
            assert CoachLink.objects.filter(pk=of_link(people, things)).exists()
        client.post(path)
        with viewing_as(people.chief.pk):
            assert not CoachLink.objects.filter(team=people.team, coach=people.coach).exists()

    def test_an_invitation(self, people: People, signed_in: SignedIn) -> None:
        invited = {"role": "guest", "note": "For Nan"}
        signed_in("chief").post(reverse("team-invite", args=[people.team.pk]), invited)
        with viewing_as(people.chief.pk):
            invitation = Invitation.objects.get(note="For Nan")
        path = reverse("invitation-withdraw", args=[invitation.pk])
        asked = text(signed_in("chief").get(path))
        assert f"Withdraw the invitation to {people.team} (For Nan)?" in asked
        assert asked.index("Keep it") < asked.rindex("Withdraw the invitation")
        with viewing_as(people.chief.pk):
            assert Invitation.objects.filter(pk=invitation.pk).exists()
