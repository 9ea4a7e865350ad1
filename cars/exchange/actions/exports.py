"""Asking for the archive of a team."""

from uuid import UUID

from cars.permissions import check_can_export, check_can_export_as_coach
from clubsetup.access.actions import action
from clubsetup.access.limits import count_against_limit
from clubsetup.access.models import User
from clubsetup.printing.actions.ask import ask_for_file
from clubsetup.printing.models import PrintJob
from teams.models import Team
from teams.queries.roles import roles_of

TEAM_ARCHIVE = "team-archive"
COACH_ARCHIVE = "coach-archive"
ARCHIVES = (TEAM_ARCHIVE, COACH_ARCHIVE)


@action
def export_team(*, by: User, team: Team, job_id: UUID | None = None) -> PrintJob:
    """Asks for everything the team owns; a coach gets what the team lets them see.

    The team's trail says who asked for it and that it was made.
    """
    count_against_limit(by, "archives")
    if team.pk in roles_of(by).coached and not roles_of(by).is_crew(team.pk):
        check_can_export_as_coach(by, team)
        kind = COACH_ARCHIVE
    else:
        check_can_export(by, team)
        kind = TEAM_ARCHIVE
    return ask_for_file(by=by, kind=kind, subject_id=team.pk, job_id=job_id)
