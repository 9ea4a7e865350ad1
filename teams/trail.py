"""How the trail tells what was done to people, clubs, teams and drivers."""

from typing import Any

from django.http import Http404

from clubsetup.printing.registry import kind_for
from clubsetup.quantities.units import Units
from teams.presenters.trail import TrailWords

WORDS = TrailWords()

for did, kind, words in (
    ("invited", "teams.invitation", "invited somebody"),
    ("linked", "teams.coachlink", "let a coach in"),
    ("unlinked", "teams.coachlink", "let a coach out"),
    ("set", "teams.driverbirth", "set a driver's birth date"),
    ("set_role", "teams.teammember", "changed a member's role"),
    ("became_official_alone", "teams.clubmember", "the only steward, became an official too"),
    ("removed", "teams.teammember", "removed a member"),
    ("removed", "teams.clubmember", "removed a member"),
    ("removed", "teams.driverweight", "struck a driver's weight"),
    ("logged", "teams.driverweight", "logged a driver's weight"),
    ("set_units", "teams.club", "changed the club's units"),
    ("asks_second_factor", "teams.club", "changed whether a second factor is asked for"),
    ("made_reset_code", "access.user", "made a code for a new password"),
    ("ended_access", "access.user", "ended somebody's sign-ins and tokens"),
    ("reset_password", "access.user", "set a new password by a code"),
    ("reset_by_keeper", "access.user", "was let back in by whoever keeps the service"),
    ("ended_sign_ins", "access.user", "signed out elsewhere"),
    ("ended", "access.signin", "signed a browser out"),
    ("handed_over", "access.signin", "handed a browser over"),
    ("gave_back", "access.signin", "opened a browser that was handed over"),
    ("typed_wrong_code", "access.signin", "typed a wrong code into a browser that was handed over"),
    ("set_idle", "teams.club", "changed how long officials' tablets may rest"),
    ("set_time_zone", "teams.club", "changed the club's time zone"),
    ("erased", "teams.driver", "erased a driver"),
    ("read", "teams.driver", "read what is kept of a driver"),
    ("read", "teams.driverweight", "read a driver's weight log"),
    ("read", "teams.team", "read the team's page or a list"),
    ("erased", "access.user", "erased the account"),
    ("signed_in", "access.user", "signed in"),
    ("set_name", "access.user", "changed the name"),
    ("set_units", "access.user", "changed the units"),
    ("set_colour_scheme", "access.user", "chose light or dark"),
    ("made", "access.apitoken", "made a token"),
    ("ended", "access.apitoken", "ended a token"),
    ("asked_for", "printing.printjob", "asked for a print"),
    ("done", "printing.printjob", "had a print made"),
):
    WORDS.say(did, kind, words)


def _document(detail: dict[str, Any], _units: Units) -> str:
    """'Setup sheet'; nothing of a document that is made no longer."""
    try:
        return kind_for(detail.get("document", "")).name
    except Http404:
        return ""


for did in ("asked_for", "done"):
    WORDS.detail(did, "printing.printjob", _document)
WORDS.name("teams.driver", str)
WORDS.name("teams.track", str)
WORDS.name("teams.raceclass", str)
