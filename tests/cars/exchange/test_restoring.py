"""From one instance into another with the same ids, and back into a third: nothing is lost."""

import io
import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.core.management import CommandError, call_command
from pytest_django.plugin import DjangoDbBlocker

from cars.models import ClosedFigures, Sheet
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from clubsetup.runtime.embedded import Embedded
from teams.models import Team
from tests.cars.exchange.instances import another_instance
from tests.cars.exchange.unpacked import Archive, archive_of
from tests.guards.world import standing_world
from tests.here import need_prints
from tests.people import People, join, person

# Of the team's, what an import adds; of the club's, what stays with the club that held the event.
ADDED, OF_EVENTS = {"imported_archives"}, {"events", "event_classes", "scale_sets"}
THINGS = ("baselines", "ballast_mounts", "chassis", "baseline_values")


@pytest.fixture(scope="module")
def source(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Archive:
    """Everything of the Wrens in the world of the guards."""
    need_prints()
    with django_db_blocker.unblock(), standing_world() as world:
        return archive_of(world.people.chief, world.people.team)


@dataclass(frozen=True)
class There:
    """Another service, with the archive brought into its Marl Heath and taken away again."""

    people: People
    archive: Archive


@pytest.fixture(scope="module")
def there(
    source: Archive,
    django_db_blocker: DjangoDbBlocker,
    embedded: Embedded,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[There]:
    """All tests of this file but the first begin here."""
    with django_db_blocker.unblock(), another_instance(embedded) as people:
        yield There(people, restored(source, people, tmp_path_factory.mktemp("there")))


def kept(archive: Archive, folder: Path) -> Path:
    path = folder / "team.json"
    path.write_bytes(archive.files["team.json"])
    return path


def restored(archive: Archive, people: People, folder: Path, club: str = "marl-heath") -> Archive:
    """Brought in by the command into Marl Heath, and taken away by a chief that it got there."""
    out = io.StringIO()
    call_command("import_archive", str(kept(archive, folder)), club=club, stdout=out)
    assert "A steward of the club invites its chief." in out.getvalue()
    return archive_of(*new_chief(archive, people))


def new_chief(archive: Archive, people: People) -> tuple[User, Team]:
    with viewing_as(people.other_steward.pk):
        team = Team.objects.get(pk=archive.data["team"]["id"])
    chief = person("New Chief")
    join(people.other_steward, chief, people.other_club, "chief", team)
    return chief, team


def assert_same(one: Archive, other: Archive) -> None:
    before, after = (each.data["rows"]["team"] for each in (one, other))
    for name in before.keys() - ADDED:
        assert by_id(before[name]) == by_id(after[name]), name
    before, after = (each.data["rows"]["club"] for each in (one, other))
    for name in before.keys() - OF_EVENTS:
        wanted = [row for row in before[name] if row["id"] in pointed_at(one)]
        assert by_id(wanted) == by_id(after[name]), name


def pointed_at(archive: Archive) -> str:
    """Where the ids stand that the team's rows, and what these point at, point at."""
    rows = archive.data["rows"]
    team = {name: kept for name, kept in rows["team"].items() if name not in ADDED}
    values = [(row["id"], row["baseline"]) for row in rows["club"]["baseline_values"]]
    things = [{**row, "id": ""} for kind in THINGS for row in rows["club"][kind]]
    return json.dumps([team, values, things])


def by_id(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return sorted(rows, key=lambda row: str(row["id"]))


def test_another_instance_has_all_of_it_and_a_third_one_again(
    source: Archive, there: There, embedded: Embedded, tmp_path: Path
) -> None:
    with another_instance(embedded) as people:
        back = restored(there.archive, people, tmp_path)
    assert_same(source, there.archive)
    assert_same(there.archive, back)
    # What officials wrote is there to read, and is no record of the other club.
    for archive in (there.archive, back):
        assert all(rows == [] for rows in archive.data["rows"]["record"].values())
    before = source.rows["imported_archives"]
    (came,) = (one for one in there.archive.rows["imported_archives"] if one not in before)
    assert came["attached"]["record"]["findings"] == source.rows["findings"]
    assert (came["source_team"], came["source_club"]) == ("Wrens", "Fernbank Oval Club")
    assert came in back.rows["imported_archives"]


def test_what_is_computed_is_computed_anew(there: There) -> None:
    team = there.archive.data["team"]["id"]
    with viewing_as(UUID(there.archive.data["made_by"]["id"])):
        closed = Sheet.objects.current().filter(team=team, state="closed").exclude(role="target")
        assert closed.exists()
        assert ClosedFigures.objects.filter(sheet__in=closed).count() == closed.count()


def test_people_who_came_along_cannot_sign_in(source: Archive, there: There) -> None:
    people = User.objects.using("owner").filter(pk__in=[p["id"] for p in source.rows["people"]])
    assert people.count() == len(source.rows["people"])
    for one in people:
        assert not one.is_active
        assert not one.has_usable_password()
        assert one.email.endswith("@archive.invalid")


def test_it_is_refused_whole_where_one_id_is_taken(
    source: Archive, there: There, tmp_path: Path
) -> None:
    before = count_rows()
    with pytest.raises(CommandError, match="An id is taken here: team"):
        call_command("import_archive", str(kept(source, tmp_path)), club="marl-heath")
    with pytest.raises(CommandError, match="An id is taken here: drivers"):
        call_command("import_archive", str(written(fresh(source), tmp_path)), club="marl-heath")
    assert count_rows() == before


def fresh(source: Archive) -> dict[str, Any]:
    """As of another team, all of whose rows have ids that are taken."""
    data = dict(source.data)
    data["team"] = {**data["team"], "id": "0197f000-0000-7000-8000-000000000000", "name": "Larks"}
    return data


def free(source: Archive) -> dict[str, Any]:
    """The same with ids that are free."""
    data = fresh(source)
    text = json.dumps(data["rows"]["team"])
    for rows in data["rows"]["team"].values():
        for row in rows:
            text = text.replace(row["id"], str(uuid4()))
    data["rows"]["team"] = json.loads(text)
    return data


def count_rows() -> list[int]:
    models = (Team, User, Sheet)
    return [model._default_manager.using("owner").count() for model in models]


def written(data: dict[str, Any], folder: Path) -> Path:
    path = folder / "altered.json"
    path.write_text(json.dumps(data))
    return path


Alter = Callable[[dict[str, Any]], None]


def no_sheet(rows: dict[str, Any]) -> None:
    rows["team"]["sheets"].pop()


def twice(rows: dict[str, Any]) -> None:
    rows["team"]["cars"].append(dict(rows["team"]["cars"][0]))


def no_measure(rows: dict[str, Any]) -> None:
    rows["team"]["readings"][0]["measure"] = "nowhere"


def two_at_once(rows: dict[str, Any]) -> None:
    reading = next(one for one in rows["team"]["readings"] if one["replaced_at"] is None)
    rows["team"]["readings"].append({**reading, "id": "0197f000-0000-7000-8000-000000000001"})


def a_word(rows: dict[str, Any]) -> None:
    rows["team"]["readings"][0]["spot"] = "above"


@pytest.mark.parametrize(
    ("alter", "says"),
    [
        (no_sheet, "points at sheet|points at based_on|points at target"),
        (twice, "a row of cars twice"),
        (no_measure, "points at measure nowhere"),
        (two_at_once, "does not hold together.*reading_one_now"),
        (a_word, r"not as its schema says, at rows.team.readings\[0\].spot"),
    ],
)
def test_what_does_not_hold_together_is_refused_whole(
    source: Archive, there: There, tmp_path: Path, alter: Alter, says: str
) -> None:
    data = free(source)
    alter(data["rows"])
    before = count_rows()
    with pytest.raises(CommandError, match=says):
        call_command("import_archive", str(written(data, tmp_path)), club="marl-heath")
    assert count_rows() == before


def test_a_club_that_is_not_there_and_a_file_that_is_none(there: There, tmp_path: Path) -> None:
    with pytest.raises(CommandError, match="There are: fernbank, marl-heath"):
        call_command("import_archive", "nothing.zip", club="elsewhere")
    with pytest.raises(CommandError, match="cannot be read"):
        call_command("import_archive", str(tmp_path / "nothing.zip"), club="marl-heath")
    file = tmp_path / "text.zip"
    file.write_text("no archive")
    with pytest.raises(CommandError, match="This is no JSON"):
        call_command("import_archive", str(file), club="marl-heath")
