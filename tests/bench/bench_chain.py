"""What a save costs more for its lines in the chain. Run by path:
`uv run pytest -n 0 tests/bench/bench_chain.py -s`.

A weigh-in with three findings enters four lines. Timed inside each save: holding the chain, reading
back what was stored, writing the lines with all that the database holds them to, and the check at
the end of the transaction. The aim is 5 ms.
"""

import statistics
import time
from typing import Any

import pytest
from django.db import connection, transaction

from clubsetup.access.viewer import viewing_as
from events.actions import weighing
from events.models import RecordLine
from tests.events.meeting import Meeting, make_meeting, mass
from tests.people import People

ROUNDS, WARM = 300, 20


@pytest.fixture
def meeting(people: People) -> Meeting:
    return make_meeting(people)


def test_what_a_save_costs_more(meeting: Meeting, monkeypatch: pytest.MonkeyPatch) -> None:
    by, enters = meeting.people.official, weighing.enter_in_chain
    entering: list[float] = []
    ending: list[float] = []
    whole: list[float] = []

    def timed(*given: Any) -> None:
        started = time.perf_counter()
        enters(*given)
        entering.append(time.perf_counter() - started)

    monkeypatch.setattr(weighing, "enter_in_chain", timed)
    for number in range(ROUNDS + WARM):
        with viewing_as(by.pk):
            started = time.perf_counter()
            with transaction.atomic():
                weighing.weigh(
                    by=by,
                    entry=meeting.entry,
                    scale_set=meeting.scales,
                    stage="entry",
                    driver_in=True,
                    total=mass("321"),
                )
                at_end = time.perf_counter()
                with connection.cursor() as cursor:
                    cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
                    cursor.execute("SET CONSTRAINTS ALL DEFERRED")
                ending.append(time.perf_counter() - at_end)
            whole.append(time.perf_counter() - started)
        if number == WARM:
            entering.clear(), ending.clear(), whole.clear()
    with viewing_as(by.pk):
        lines = RecordLine.objects.filter(chain__event=meeting.event).count()
    parts = {"entering 4 lines": entering, "all checks at the end": ending, "the whole save": whole}
    print(f"\nafter {lines} lines in the chain:")  # noqa: T201  # what it is run for
    for what, took in parts.items():
        slow = statistics.quantiles(took, n=20)[-1]
        print(f"{what:24} {statistics.median(took) * 1e3:6.2f} ms, one in 20 over {slow * 1e3:.2f}")  # noqa: T201
