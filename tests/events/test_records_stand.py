"""Official records are added and never altered, for every person and past every action."""

from collections.abc import Callable

import pytest
from django.db import DatabaseError, connection, transaction
from django.db.models import Model

from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from clubsetup.runtime.addresses import APP_ROLE
from events.actions.ballast import check_no_ballast, record_not_on_car
from events.actions.entries import withdraw_entry
from events.actions.voiding import void_weigh_in
from events.models import BallastCheck, BallastPhoto, Entry, Finding, TechReading, Void, WeighIn
from tests.events.meeting import Meeting, mass
from tests.events.photographs import jpeg
from tests.events.test_ballast_checks import look
from tests.events.test_measuring import measured

RECORDS: list[type[Model]] = [WeighIn, BallastCheck, BallastPhoto, TechReading, Finding, Void]


@pytest.fixture
def full(meeting: Meeting) -> Meeting:
    """One record of every kind."""
    wrong = meeting.weigh("318")
    meeting.weigh("321")
    look(meeting, photo=jpeg())
    measured(meeting, "45")
    with viewing_as(meeting.people.official.pk):
        void_weigh_in(by=meeting.people.official, weigh_in=wrong, reason="Not level")
    return meeting


def run(statement: str) -> None:
    """Plain SQL, as the app's role."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(statement)


@pytest.mark.parametrize("model", RECORDS)
@pytest.mark.parametrize("name", ["official", "steward", "chief", "stranger"])
def test_no_role_of_the_app_changes_or_removes_one(
    full: Meeting, model: type[Model], name: str
) -> None:
    rows = model._default_manager.all()
    with viewing_as(getattr(full.people, name).pk):
        with pytest.raises(DatabaseError, match="permission denied"), transaction.atomic():
            rows.update(device_at=None)
        with pytest.raises(DatabaseError, match="permission denied"), transaction.atomic():
            rows._raw_delete(rows.db)
        table = model._meta.db_table
        for statement in (f"DELETE FROM {table}", f"TRUNCATE {table} CASCADE"):
            with pytest.raises(DatabaseError, match="permission denied"):
                run(statement)


@pytest.mark.parametrize("model", RECORDS)
def test_the_role_was_never_given_the_right(full: Meeting, model: type[Model]) -> None:
    with connection.cursor() as cursor:
        for right, held in (("SELECT", True), ("INSERT", True), ("UPDATE", False)):
            cursor.execute(
                "SELECT has_any_column_privilege(%s, %s, %s)",
                [APP_ROLE, model._meta.db_table, right],
            )
            assert cursor.fetchone() == (held,), right
        cursor.execute(
            "SELECT has_table_privilege(%s, %s, 'DELETE')", [APP_ROLE, model._meta.db_table]
        )
        assert cursor.fetchone() == (False,)


def weigh_in_row(meeting: Meeting, by: object) -> dict[str, object]:
    return {
        "entry": meeting.entry,
        "club": meeting.people.club,
        "team": meeting.people.team,
        "by": by,
        "stage": "entry",
        "scale_set": meeting.scales,
        "driver_in": True,
        "total": mass("321").value,
        "u_total": "0.1",
    }


@pytest.mark.parametrize(
    "name",
    ["steward", "chief", "crew", "guest", "coach", "rival", "other_official", "stranger"],
)
def test_past_the_action_too_only_an_official_of_the_club_adds_one(
    meeting: Meeting, name: str
) -> None:
    who = getattr(meeting.people, name)
    with viewing_as(who.pk), pytest.raises(DatabaseError), transaction.atomic():
        WeighIn.objects.create(**weigh_in_row(meeting, who))


def test_and_only_in_their_own_name(meeting: Meeting) -> None:
    official = meeting.people.official
    with viewing_as(official.pk):
        with pytest.raises(DatabaseError), transaction.atomic():
            WeighIn.objects.create(**weigh_in_row(meeting, meeting.people.steward))
        with transaction.atomic():
            assert WeighIn.objects.create(**weigh_in_row(meeting, official))
            transaction.set_rollback(True)  # it has no line in the chain


def test_a_record_cannot_name_another_team_than_its_entry(meeting: Meeting) -> None:
    official = meeting.people.official
    row = {**weigh_in_row(meeting, official), "team": meeting.people.rival_team}
    with viewing_as(official.pk):
        run("SET CONSTRAINTS ALL IMMEDIATE")
        with pytest.raises(DatabaseError, match="weigh_in_team"), transaction.atomic():
            WeighIn.objects.create(**row)


READERS = ["chief", "crew", "guest", "coach", "official", "steward"]
OTHERS = ["rival", "unlinked_coach", "other_official", "other_steward", "stranger"]


@pytest.mark.parametrize("model", RECORDS)
def test_the_team_its_coach_and_the_clubs_officials_read_and_nobody_else(
    full: Meeting, model: type[Model]
) -> None:
    for name in READERS + OTHERS:
        with viewing_as(getattr(full.people, name).pk):
            assert model._default_manager.exists() == (name in READERS), name
    with viewing_as(None):
        assert not model._default_manager.exists()


def test_a_new_finding_leaves_the_old_ones_as_they_were(meeting: Meeting) -> None:
    meeting.weigh("318")
    with viewing_as(meeting.people.official.pk):
        before = list(Finding.objects.order_by("pk").values())
    meeting.weigh("321")
    with viewing_as(meeting.people.official.pk):
        after = list(Finding.objects.order_by("pk").values())
    assert after[: len(before)] == before
    assert len(after) == 2 * len(before)


def test_every_record_has_its_line_in_the_clubs_trail(full: Meeting) -> None:
    with viewing_as(full.people.steward.pk):
        did = set(TrailLine.objects.filter(by=full.people.official).values_list("did", flat=True))
    assert {"weighed", "found", "checked_ballast", "photographed", "voided"} <= did


def test_without_its_line_in_the_trail_nothing_is_saved(
    full: Meeting, monkeypatch: pytest.MonkeyPatch
) -> None:
    official, chief = full.people.official, full.people.chief

    def fails(*_: object, **__: object) -> None:
        raise RuntimeError("no trail")

    with viewing_as(official.pk):
        standing = WeighIn.objects.filter(void__isnull=True).get()
    writes: list[Callable[[], object]] = [
        lambda: full.weigh("325"),
        lambda: look(full),
        lambda: look(full, photo=jpeg()),
        lambda: measured(full, "46"),
        lambda: check_no_ballast(by=official, entry=full.rival_entry),
        lambda: record_not_on_car(
            by=official, entry=full.entry, piece=full.piece, reason="Taken off"
        ),
        lambda: void_weigh_in(by=official, weigh_in=standing, reason="Wrong"),
    ]

    def counted() -> list[int]:
        return [model._default_manager.count() for model in RECORDS]

    with viewing_as(official.pk):
        before = counted()
        monkeypatch.setattr(TrailLine, "save", fails)
        for write in writes:
            with pytest.raises(RuntimeError):
                write()
        assert counted() == before
    with viewing_as(chief.pk):
        with pytest.raises(RuntimeError):
            withdraw_entry(by=chief, entry=full.entry)
        assert Entry.objects.get(pk=full.entry.pk).withdrawn_at is None


def test_the_finding_and_its_trail_go_with_the_weigh_in_or_not_at_all(
    meeting: Meeting, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only the last line fails, the finding's: the weigh-in before it is not kept either."""
    saved = TrailLine.save

    def fails_on_findings(row: TrailLine, **kwargs: object) -> None:
        if row.did == "found":
            raise RuntimeError("no trail")
        saved(row, **kwargs)  # type: ignore[arg-type]

    monkeypatch.setattr(TrailLine, "save", fails_on_findings)
    with pytest.raises(RuntimeError):
        meeting.weigh("321")
    with viewing_as(meeting.people.official.pk):
        assert not WeighIn.objects.exists()
        assert not TrailLine.objects.filter(did="weighed").exists()
