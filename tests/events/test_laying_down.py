"""What was printed and exported before records had lines holds after the migration that wrote
them."""

import csv
import io
import json
from collections.abc import Iterator
from pathlib import Path
from uuid import UUID

import pytest
from django.core.management import CommandError, call_command
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.executor import MigrationExecutor
from pytest_django.plugin import DjangoDbBlocker

from clubsetup.runtime.embedded import Embedded
from tests.events import old_event
from tests.events.old_event import EMPTY_EVENT, EVENT, EXPORTS, printed

BEFORE, AFTER = ("events", "0012_weigh_in_tank_empty"), ("events", "0013_record_chain")
# As far as the rest of the house was.
OTHER_APPS = [
    ("access", "0003_receipt"),
    ("teams", "0006_the_wall_clock_of_a_club"),
    ("cars", "0008_what_teams_run"),
]


@pytest.fixture
def old(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, embedded: Embedded
) -> Iterator[BaseDatabaseWrapper]:
    """The owner's connection to a database with the old event, migrated as far as it was then."""
    embedded.prepare("before_lines")
    with django_db_blocker.unblock():
        connection = connections["owner"].copy("owner")
        connection.settings_dict = {**connection.settings_dict, "NAME": "before_lines"}
        kept = connections["owner"]
        connections["owner"] = connection
        try:
            executor = MigrationExecutor(connection)
            executor.migrate([*OTHER_APPS, BEFORE])
            apps = executor.loader.project_state([*OTHER_APPS, BEFORE]).apps
            old_event.fill(apps.get_model, "owner")
            yield connection
        finally:
            connection.close()
            connections["owner"] = kept


def chain(connection: BaseDatabaseWrapper, event: UUID) -> tuple[str, list[tuple[str, str]], str]:
    """Head, lines with their hashes, last hash, as they lie in the table."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT id, head, last_hash, length FROM events_recordchain WHERE event_id = %s",
            [event],
        )
        key, head, last, length = cursor.fetchone()
        cursor.execute(
            "SELECT text, hash FROM events_recordline WHERE chain_id = %s ORDER BY place", [key]
        )
        lines = cursor.fetchall()
        assert length == len(lines)
        return head, lines, last


def test_a_hash_printed_before_is_found_after(old: BaseDatabaseWrapper) -> None:
    MigrationExecutor(old).migrate([AFTER])
    head, lines, last = chain(old, EVENT)
    file = json.loads((EXPORTS / "records.json").read_text())
    assert last == file["last"] == printed()
    assert json.loads(head) == file["head"]
    assert [hash for _, hash in lines] == [one["hash"] for one in file["records"]]
    assert [json.loads(text) for text, _ in lines] == [one["record"] for one in file["records"]]
    head, lines, last = chain(old, EMPTY_EVENT)
    assert (lines, last) == ([], printed("printed_empty"))
    # Back, and once more to the same.
    MigrationExecutor(old).migrate([BEFORE])
    MigrationExecutor(old).migrate([AFTER])
    assert chain(old, EVENT)[2] == printed()
    # And from here it grows: nothing is stored past it.
    with old.cursor() as cursor:
        cursor.execute(
            "SELECT tgname FROM pg_trigger"
            " WHERE tgfoid = 'access.refuse_without_line()'::regprocedure"
        )
        assert len(cursor.fetchall()) == 7


# Files exported before


def verify(folder: Path, text: str, kind: str, **more: str) -> tuple[bool, str]:
    file, out = folder / f"records.{kind}", io.StringIO()
    file.write_bytes(text.encode())
    try:
        call_command("verify_records", str(file), stdout=out, **more)
    except CommandError as problem:
        return False, f"{out.getvalue()}{problem}"
    return True, out.getvalue()


def rows() -> list[list[str]]:
    """Of the table that held the chain."""
    text = (EXPORTS / "records.csv").read_bytes().decode()
    return list(csv.reader(io.StringIO(text, newline="")))


def written(changed: list[list[str]]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\r\n").writerows(changed)
    return out.getvalue()


@pytest.mark.parametrize("kind", ["json", "csv"])
def test_a_file_exported_before_is_whole(tmp_path: Path, kind: str) -> None:
    text = (EXPORTS / f"records.{kind}").read_bytes().decode()
    for one in (text, "\ufeff" + text):
        whole, said = verify(tmp_path, one, kind, printed=printed())
        assert whole, said
        assert "15 lines, all as written" in said
        assert "It is the one printed in the record book." in said


@pytest.mark.parametrize("line", range(1, 16))
def test_an_altered_line_of_an_old_table_is_named(tmp_path: Path, line: int) -> None:
    changed = rows()
    record = json.loads(changed[line + 1][7])
    changed[line + 1][7] = json.dumps({**record, "by": "somebody else"})
    whole, said = verify(tmp_path, written(changed), "csv")
    assert not whole
    assert f"line {line}: " in said


@pytest.mark.parametrize("column", [0, 1, 2])
def test_what_stands_beside_the_record_must_agree(tmp_path: Path, column: int) -> None:
    changed = rows()
    changed[4][column] = "7000"
    whole, said = verify(tmp_path, written(changed), "csv")
    assert not whole
    assert "line 3: line, kind or time was altered beside the record" in said
