"""The archive of a team, made in the background like a print: one for its crew, one for a coach."""

from django.http import Http404

from cars.exchange.actions.exports import COACH_ARCHIVE, TEAM_ARCHIVE
from cars.exchange.files.team_archive import gather_archive
from cars.permissions import check_can_export, check_can_export_as_coach
from clubsetup.access.errors import is_allowed
from clubsetup.access.models import User
from clubsetup.access.viewer import current_viewer
from clubsetup.printing.registry import ZipFileKind
from teams.models import Team


def _is_open_to_crew(team: Team) -> bool:
    return is_allowed(check_can_export, _viewer(), team)


def _is_open_to_coach(team: Team) -> bool:
    return is_allowed(check_can_export_as_coach, _viewer(), team)


def _viewer() -> User:
    viewer = current_viewer()
    if viewer is None:
        raise Http404
    return User.objects.get(pk=viewer)


def _title(team: Team) -> str:
    return f"Archive of {team.name}"


DOCUMENTS = (
    ZipFileKind(
        key=TEAM_ARCHIVE,
        name="Archive of a team",
        model=Team,
        title=_title,
        is_open=_is_open_to_crew,
        team_of=lambda team: team.pk,
        gather=gather_archive,
    ),
    ZipFileKind(
        key=COACH_ARCHIVE,
        name="Archive of a team, for its coach",
        model=Team,
        title=_title,
        is_open=_is_open_to_coach,
        team_of=lambda team: team.pk,
        gather=gather_archive,
    ),
)
