"""What memory a large team's archive takes: made, and brought in again.

Run by path: `uv run pytest -n 0 -s tests/benchmarks/bench_archive.py`. It prints how far the peak
of the process (VmHWM, Linux) rises above what it held before, in MB.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from cars.exchange.actions.archive_import import import_archive
from cars.exchange.files.archive_input import archive_in
from cars.exchange.files.archive_json import FILE
from cars.exchange.files.team_archive import gather_archive
from cars.models import Measure, Reading, Sheet
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import CANONICAL
from teams.actions.teams import make_team
from teams.models import Team
from tests.benchmarks import sizes
from tests.benchmarks.bench_history import _reading, remember
from tests.cars.garage import make_garage
from tests.owner import as_owner
from tests.people import People, join

READINGS = sizes.of(40_000, 40)
MB = 2**20


def kept(name: str) -> int:
    """A figure of this process, in bytes: VmRSS, VmHWM."""
    lines = Path("/proc/self/status").read_text(encoding="ascii").splitlines()
    return next(int(line.split()[1]) * 1024 for line in lines if line.startswith(f"{name}:"))


@contextmanager
def peak_of(what: str) -> Iterator[None]:
    """Prints how far the peak rises meanwhile."""
    Path("/proc/self/clear_refs").write_text("5", encoding="ascii")
    before = kept("VmRSS")
    yield
    rose = (kept("VmHWM") - before) / MB
    print(f"{what}: {rose:.0f} MB over {before / MB:.0f} MB")  # noqa: T201


def test_memory_of_a_large_team(people: People, tmp_path: Path) -> None:
    garage, by = make_garage(people), people.chief
    remember(people, garage)
    with viewing_as(by.pk):
        measures = list(Measure.objects.filter(taken="quantity").exclude(kind=""))
        boxes = [(one, spot) for one in measures for spot in one.spots]
        sheets = list(Sheet.objects.filter(car=garage.car)[: READINGS // len(boxes) + 1])
        # What waits for the end of the transaction would keep the table from being altered.
        as_owner("SET CONSTRAINTS ALL IMMEDIATE")
        as_owner("ALTER TABLE cars_reading DISABLE TRIGGER sheet_is_closed")
        at = datetime(2026, 3, 1, tzinfo=UTC)
        rows = []
        for sheet in sheets:
            for measure, spot in boxes:
                row = _reading(sheet, measure.pk, spot, 1.5, by, at)
                row.unit = CANONICAL[Kind(measure.kind)]
                rows.append(row)
        Reading.objects.bulk_create(rows, batch_size=1000, ignore_conflicts=True)
        as_owner("SET CONSTRAINTS ALL IMMEDIATE")
        as_owner("ALTER TABLE cars_reading ENABLE TRIGGER sheet_is_closed")
        made = len(rows)
        del rows, sheets
        team = Team.objects.select_related("club").get(pk=people.team.pk)
        with peak_of(f"an archive with {made} readings made"):
            gather_archive(team, by, tmp_path)
    content = (tmp_path / FILE).read_bytes()
    with viewing_as(people.steward.pk):
        other = make_team(by=people.steward, club=people.club, name="Grebes")
    join(people.steward, by, people.club, "chief", other)
    with viewing_as(by.pk):
        with peak_of(f"its {len(content) / MB:.0f} MB of JSON read and checked"):
            archive = archive_in(content)
        with peak_of("brought in"):
            import_archive(by=by, team=other, archive=archive)
