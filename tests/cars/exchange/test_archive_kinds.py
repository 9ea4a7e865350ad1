"""Every table of ours is in a team's archive or says why not; the schema is the models'."""

from django.apps import apps
from django.db.models import ForeignKey, Model

from cars.exchange.files.archive_schema import published_schema, schema_text
from cars.exchange.queries.archive_kinds import (
    NOT_IN_ARCHIVE,
    Section,
    archive_kinds,
)
from events.queries.archive_kinds import NOT_OF_TEAM
from tests.guards.test_models import label

OURS = {"access", "printing", "teams", "cars", "events"}
KINDS = [kind for section in Section for kind in archive_kinds(section)]
# What stays behind of a row that is in an archive.
STAYS = {
    "suggestion_tables": {"coach"},  # a team's own has none
    "ballast_photos": {"picture", "small"},  # pictures, beside the rows
    "handed_sheets": {"handover"},  # of the service it was made on
    "handed_runs": {"handover"},
    "people": {
        *("password", "last_login", "email", "is_active", "date_joined"),
        *("preferred_units", "colour_scheme"),
    },
}


def models() -> list[type[Model]]:
    return [m for m in apps.get_models() if m._meta.app_label in OURS and m._meta.managed]


def test_a_table_is_in_the_archive_or_says_why_not() -> None:
    says_why = {*NOT_IN_ARCHIVE, *NOT_OF_TEAM}
    archived = {label(kind.model) for kind in KINDS}
    assert archived & says_why == set()
    assert archived | says_why == {label(model) for model in models()}


def test_every_column_is_in_it_but_those_that_stay_behind() -> None:
    for kind in KINDS:
        names = {column.name for column in kind.model._meta.concrete_fields}
        behind = names - {column.name for column in kind.columns} - {"team", "club", "withdrawn"}
        assert behind == STAYS.get(kind.name, set()), kind.name


def test_what_a_row_points_at_stands_before_it() -> None:
    """So that rows can be added in the order in which they stand."""
    place = {kind.model: n for n, kind in enumerate(archive_kinds(Section.TEAM))}
    for kind in archive_kinds(Section.TEAM):
        for column in kind.columns:
            if isinstance(column, ForeignKey) and column.related_model in place:
                assert place[column.related_model] <= place[kind.model], (kind.name, column.name)


def test_what_the_rows_of_a_club_point_at_stands_after_them() -> None:
    """For what is pointed at is known only when these have been written."""
    place = {kind.model: n for n, kind in enumerate(archive_kinds(Section.CLUB))}
    for kind in archive_kinds(Section.CLUB):
        for column in kind.columns:
            if isinstance(column, ForeignKey) and column.related_model in place:
                hangs = kind.of == column.attname
                assert hangs or place[column.related_model] > place[kind.model], kind.name


def test_the_published_schema_is_the_one_of_the_models() -> None:
    """Where it is not: `uv run manage.py write_archive_schema`, and think of who reads archives."""
    assert published_schema() == schema_text()
