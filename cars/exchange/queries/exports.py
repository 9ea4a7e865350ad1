"""Whose archive a person may ask for, and those that were made."""

from django.db.models import QuerySet

from cars.models import ImportedArchive
from clubsetup.access.models import User
from clubsetup.printing.models import PrintJob
from clubsetup.printing.registry import zip_keys
from teams.models import Team
from teams.queries.roles import roles_of

# More than one person looks after; the API takes any of them by its id.
MOST_TEAMS = 100


def teams_to_export(by: User) -> "QuerySet[Team]":
    """Teams that they are crew of, or that let them in as a coach."""
    roles = roles_of(by)
    may = {pk for pk in roles.readable_teams if roles.may_comment(pk)}
    rows = Team.objects.filter(pk__in=may).select_related("club").order_by("name", "pk")
    teams: QuerySet[Team] = rows[:MOST_TEAMS]
    return teams


def exports_of(by: User) -> "QuerySet[PrintJob]":
    """The archives that they asked for, the newest first."""
    jobs = PrintJob.objects.filter(asked_by=by, document__in=zip_keys())
    return jobs.select_related("stored").order_by("-id")


def archives_of(by: User) -> "QuerySet[ImportedArchive]":
    """Archives that came into teams that they are crew of, the newest first; not their content."""
    roles = roles_of(by)
    rows = ImportedArchive.objects.of_teams([pk for pk in roles.teams if roles.is_crew(pk)])
    archives: QuerySet[ImportedArchive] = rows.defer("source_ids", "attached").order_by("-id")
    return archives
