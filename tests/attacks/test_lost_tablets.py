"""A tablet that is lost, or a person who left: a steward ends their sign-ins, and nobody else."""

from typing import Any

import pytest
from django.db import connection
from django.urls import reverse

from clubsetup.access.viewer import viewing_as
from teams.actions.teams import remove_team_member
from teams.models import TeamMember
from tests.attacks.accounts import again, confirmed, is_in, opens, signed_in, token_of
from tests.people import People

pytestmark = pytest.mark.django_db


class TestALostTablet:
    def test_a_steward_signs_out_who_is_or_was_in_the_club(self, people: People) -> None:
        lost, token = signed_in(people.crew), token_of(people.crew)
        with viewing_as(people.chief.pk):
            gone = TeamMember.objects.get(user=people.crew)
            remove_team_member(by=people.chief, member=gone)
        browser = again(signed_in(people.steward))
        page = browser.get(reverse("club-people", args=[people.club.pk])).content.decode()
        assert "has left" in page
        path = reverse("member-end", args=[people.club.pk, people.crew.pk])
        assert "End all sign-ins and tokens of Crew?" in browser.get(path).content.decode()
        assert is_in(lost)
        browser.post(path)
        assert (is_in(lost), opens(token)) == (False, False)
        trail = browser.get(reverse("club-trail", args=[people.club.pk])).content.decode()
        assert "ended somebody" in trail

    @pytest.mark.parametrize("who", ["stranger", "other_official", "other_steward"])
    def test_nobody_of_another_club(self, people: People, who: str) -> None:
        victim = vars(people)[who]
        there = signed_in(victim)
        path = reverse("member-end", args=[people.club.pk, victim.pk])
        assert again(signed_in(people.steward)).post(path).status_code == 404
        with viewing_as(people.steward.pk), connection.cursor() as cursor:
            cursor.execute("SELECT access.end_for_member(%s, %s)", [people.club.pk, victim.pk])
            assert cursor.fetchone() == (None,)
        assert is_in(there)

    @pytest.mark.parametrize("who", ["chief", "official", "coach", "rival", "other_steward"])
    def test_by_nobody_but_a_steward(self, people: People, who: str) -> None:
        there = signed_in(people.crew)
        path = reverse("member-end", args=[people.club.pk, people.crew.pk])
        assert again(signed_in(vars(people)[who])).post(path).status_code in (403, 404)
        with viewing_as(vars(people)[who].pk), connection.cursor() as cursor:
            cursor.execute("SELECT access.end_for_member(%s, %s)", [people.club.pk, people.crew.pk])
            assert cursor.fetchone() == (None,)
        assert is_in(there)


def test_the_person_is_told_by_letter(people: People, letters: Any) -> None:
    confirmed(people.steward)
    confirmed(people.crew)
    browser = again(signed_in(people.steward))
    path = reverse("member-end", args=[people.club.pk, people.crew.pk])
    told = letters(lambda: browser.post(path))
    assert [letter.to for letter in told] == [["crew@example.org"]]
    assert "A steward of Fernbank Oval Club ended all your sign-ins" in told[0].body
