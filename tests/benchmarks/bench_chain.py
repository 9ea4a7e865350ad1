"""What a save costs more for its lines in the chain. Run by path:
`uv run pytest -n 0 tests/benchmarks/bench_chain.py -s`.

A weigh-in with three findings enters four lines. Timed inside each save: holding the chain, reading
back what was stored, writing the lines with all that the database holds them to, and the check at
the end of the transaction. Time on the processor, ours and the database's, is told beside the
clock's, since a busy machine slows the clock alone. The aim is 5 ms.
"""

import statistics
import time
from pathlib import Path
from typing import Any

import pytest
from django.db import connection, transaction

from clubsetup.access.viewer import viewing_as
from events.actions import weighing
from events.records.actions.chain import enter_in_chain
from tests.benchmarks import sizes
from tests.events.meeting import Meeting, make_meeting, mass
from tests.people import People

ROUNDS, WARM = sizes.of(40, 2), sizes.of(5)


class Took:
    """Seconds by the clock and on the processor, save by save."""

    def __init__(self, backend: int) -> None:
        self.of_backend = Path(f"/proc/{backend}/schedstat")
        self.clock: list[float] = []
        self.worked: list[float] = []

    def _now(self) -> tuple[float, float]:
        ours = time.clock_gettime(time.CLOCK_PROCESS_CPUTIME_ID)
        return time.perf_counter(), ours + int(self.of_backend.read_text().split()[0]) / 1e9

    def __enter__(self) -> None:
        self.began = self._now()

    def __exit__(self, *_: object) -> None:
        clock, worked = self._now()
        self.clock.append(clock - self.began[0])
        self.worked.append(worked - self.began[1])

    def told(self, what: str) -> None:
        """Prints the medians without the first saves, which find everything cold."""
        clock, worked = (statistics.median(each[WARM:]) * 1e3 for each in (self.clock, self.worked))
        print(f"{what:24} {clock:6.2f} ms by the clock, {worked:6.2f} ms of work")  # noqa: T201


@pytest.fixture
def meeting(people: People) -> Meeting:
    return make_meeting(people)


def test_what_a_save_costs_more(meeting: Meeting, monkeypatch: pytest.MonkeyPatch) -> None:
    by, enters = meeting.people.official, enter_in_chain
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_backend_pid()")
        backend = (cursor.fetchone() or [0])[0]
    entering, ending, whole = Took(backend), Took(backend), Took(backend)

    def timed(*given: Any) -> None:
        with entering:
            enters(*given)

    monkeypatch.setattr(weighing, "enter_in_chain", timed)
    given: dict[str, Any] = {
        "entry": meeting.entry,
        "scale_set": meeting.scales,
        "total": mass("321"),
    }
    for _ in range(ROUNDS + WARM):
        with viewing_as(by.pk), whole, transaction.atomic():
            weighing.weigh(by=by, stage="entry", driver_in=True, **given)
            with ending, connection.cursor() as cursor:
                cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
                cursor.execute("SET CONSTRAINTS ALL DEFERRED")
    entering.told("entering 4 lines")
    ending.told("all checks at the end")
    whole.told("the whole save")
