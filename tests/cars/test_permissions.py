"""Who may do what to cars, sheets and baselines, role by role, and what others are told."""

from collections.abc import Callable

import pytest

from cars import permissions
from cars.models import Baseline, Car, Chassis, Import, Run, Sheet, SuggestionTable
from clubsetup.access.errors import NotAllowed
from tests.roles import CLUB, COACHES, CREW, EVERYBODY, RESTS, TEAM, who_may

WRITE = "Only the crew of Wrens, or a coach it lets write, may do this."
CODES = "The codes of Wrens are its own."
SHEET, CAR, RUN = Sheet(team=TEAM), Car(team=TEAM), Run(team=TEAM)


@pytest.mark.parametrize(
    ("check", "kept"),
    [
        (permissions.check_can_keep_chassis, Chassis(club=CLUB)),
        (permissions.check_can_keep_baseline, Baseline(club=CLUB)),
        (permissions.check_can_keep_suggestions, SuggestionTable(club=CLUB)),
    ],
)
def test_a_steward_keeps_chassis_baselines_and_the_clubs_suggestions(
    check: Callable[..., None], kept: Chassis | Baseline | SuggestionTable
) -> None:
    told = "Only a steward of Fernbank may do this."
    assert who_may(check, kept, refusal=told, resting=RESTS) == {"steward"}


def test_the_crew_keep_the_car() -> None:
    told = "Only the crew of Wrens may do this."
    assert who_may(permissions.check_can_keep_car, CAR, refusal=told) == CREW
    assert who_may(permissions.check_can_import, Import(team=TEAM), refusal=told) == CREW


@pytest.mark.parametrize(
    ("check", "written"),
    [
        (permissions.check_can_open_sheet, CAR),
        (permissions.check_can_write_sheet, SHEET),
        (permissions.check_can_note_run, RUN),
    ],
)
def test_sheets_and_runs_are_written_by_the_crew_and_a_coach_whom_they_let(
    check: Callable[..., None], written: Car | Sheet | Run
) -> None:
    assert who_may(check, written, refusal=WRITE) == CREW | {"coach who writes"}


def test_the_crew_and_their_coaches_comment_on_a_sheet() -> None:
    told = "Only the crew of Wrens or its coach may comment."
    assert who_may(permissions.check_can_comment_on, SHEET, refusal=told) == CREW | COACHES


def test_part_codes_are_seen_in_the_team_and_by_a_coach_whom_it_lets() -> None:
    allowed = who_may(permissions.check_can_see_parts, TEAM, refusal=CODES)
    assert allowed == CREW | {"guest", "coach who sees codes"}


def test_a_part_is_fitted_by_who_writes_the_sheet_and_sees_the_codes() -> None:
    check = permissions.check_can_fit_part
    for name, user in EVERYBODY.items():
        if name in CREW:
            check(user, SHEET)
            continue
        with pytest.raises(NotAllowed) as refused:
            check(user, SHEET)
        assert str(refused.value) == (CODES if name == "coach who writes" else WRITE)
