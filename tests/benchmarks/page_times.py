"""What every page and list costs: in the demo without runs and with three seasons of them, with an
old car, among 300 clubs, and with both of these.

    uv run python -m tests.benchmarks.page_times            # 300 clubs; 7 GB, a quarter of an hour
    uv run python -m tests.benchmarks.page_times --clubs 30
    uv run python -m tests.benchmarks.page_times --clubs 0  # the demo alone, with runs and without
    uv run python -m tests.benchmarks.page_times --explain sheet   # the wasteful statements of one

The old car has ten seasons, 409 sheets and 204 plans; each of the clubs has four seasons. p50 by
the clock, CPU of this process and of the database's (without parallel workers), and of the page's
statements by EXPLAIN ANALYZE: their number, the rows they read and threw away, and the share of
their time that row security has, against the same as the tables' owner.

Budgets of web and database together, with the seasons: 'at the track' and 'run' 30 ms, 'save a run'
35, 'helped, a season' (80 runs compared, 480 more as the record) 150.
"""

import argparse
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import psutil
import psycopg

from tests.benchmarks.demo_server import PLANNED_CARS, demo_server

# isort: split
from django.core.cache import cache
from django.db import connections, transaction
from django.test import Client

from clubsetup.access.ids import new_id
from clubsetup.runtime.embedded import Embedded
from clubsetup.runtime.passwords import SUPERUSER
from tests.benchmarks.copies import add_clubs, add_past, broken_keys, loading
from tests.benchmarks.statements import (
    NO_SCANS,
    Cost,
    Statement,
    cost_with_policies,
    cost_without,
    statements_of,
)
from tests.benchmarks.timed_pages import Demo, Page, find_demo, pages_of
from tests.migrated import (
    DEMO,
    DEMO_WITH_RUNS,
    copy_database,
    make_demo,
    point_connections_at,
)

CLUBS, ROUNDS, WARM_UP = 300, 15, 2
# A slow page is not asked for that often.
FEWEST_ROUNDS, SECONDS_A_PAGE = 3, 5.0
EXPLAINED, SLOW_MS = 3, 200.0
DEMOS = (DEMO_WITH_RUNS, DEMO)
COUNTED = ("teams_club", "cars_sheet", "cars_reading", "cars_plan", "cars_run", "events_finding")


@dataclass(frozen=True)
class Took:
    """What one page took in one database."""

    p50: float
    web: float
    database: float
    statements: int
    removed: int
    security: float

    def __str__(self) -> str:
        return (
            f"{self.p50:7.0f} {self.web:5.0f} {self.database:5.0f} {self.statements:4d} "
            f"{self.removed:9,d} {self.security:+5.0f}%"
        )


HEAD = f"{'p50 ms':>7} {'web':>5} {'db':>5} {'asks':>4} {'thrown':>9} {'walls':>6}"


class Visit:
    """One person's visits to one page."""

    def __init__(self, demo: Demo, page: Page, rounds: int) -> None:
        self.page, self.rounds = page, rounds
        self.person = demo.people[page.who]
        self.client = Client()
        self.client.force_login(self.person)
        # The bench leads to the step at which the evening stands.
        answer = self.client.get(page.path, follow=True)
        query = answer.request["QUERY_STRING"]
        self.path = answer.request["PATH_INFO"] + (f"?{query}" if query else "")

    def get(self) -> None:
        """Once."""
        cache.clear()
        if self.page.sent is None:
            answer, wanted = self.client.get(self.path), 200
        else:
            sent = {**self.page.sent, "row_id": str(new_id())}
            with transaction.atomic():  # and undone: the next finds what this one found
                answer, wanted = self.client.post(self.path, sent), 302
                transaction.set_rollback(True)
        if answer.status_code != wanted:
            raise SystemExit(f"{self.path}: {answer.status_code} {answer.content[:300]!r}")

    def costs(self) -> list[tuple[Cost, Cost]]:
        """Of each statement, with row security and without."""
        return [self._cost(one) for one in statements_of(self.get)]

    def _cost(self, one: Statement) -> tuple[Cost, Cost]:
        times = min(EXPLAINED, self.rounds)
        with_policies = _best(lambda: cost_with_policies(one, self.person.pk), times)
        return with_policies, _best(lambda: cost_without(one), times)

    def measure(self) -> Took:
        """All its figures."""
        for _ in range(min(WARM_UP, self.rounds - 1)):
            self.get()
        times: list[float] = []
        web, database = time.process_time(), _database_cpu()
        while len(times) < self.rounds and not _is_long(times):
            started = time.perf_counter()
            self.get()
            times.append(time.perf_counter() - started)
        web, database = time.process_time() - web, _database_cpu() - database
        costs = self.costs()
        bare = sum(without.ms for _, without in costs)
        return Took(
            p50=1000 * statistics.median(times),
            web=1000 * web / len(times),
            database=1000 * database / len(times),
            statements=len(costs),
            removed=sum(secured.removed for secured, _ in costs),
            security=100 * (sum(secured.ms for secured, _ in costs) / bare - 1) if bare else 0.0,
        )

    def explain(self) -> None:
        """Prints each wasteful statement with its plan, where whole tables cost too much."""
        for one in statements_of(self.get):
            cost = cost_with_policies(one, self.person.pk, off=NO_SCANS)
            if cost.is_wasteful:
                scanned = ", ".join(sorted(cost.tables_scanned)) or "nothing"
                say(f"\n{one.sql}\n{one.values}")
                say(f"{cost.returned} rows, {cost.removed} thrown away, read whole: {scanned}")
                say(cost.plan)


def _is_long(times: list[float]) -> bool:
    return len(times) >= FEWEST_ROUNDS and sum(times) > SECONDS_A_PAGE


def _best(explain: Callable[[], Cost], times: int) -> Cost:
    """The fastest of a few, in which the machine's other work has the least part."""
    found = [explain()]
    while len(found) < times and found[0].ms < SLOW_MS:
        found.append(explain())
    return min(found, key=lambda cost: cost.ms)


def _database_cpu() -> float:
    """Of the process that serves `default`."""
    pid = connections["default"].connection.info.backend_pid
    used = psutil.Process(pid).cpu_times()
    return float(used.user + used.system)


def say(line: str) -> None:
    """At once: a long run is watched."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main() -> None:
    """Measures one database after the other, and prints the table."""
    options = _options()
    found: dict[str, dict[str, Took]] = {}
    for which in DEMOS:
        make_demo(which)
    for which in DEMOS:
        with demo_server(1 if options.tiny else PLANNED_CARS, which) as server:
            for column, database in _databases(server, which, options.clubs):
                if options.tiny:
                    _check_keys(server, database)
                point_connections_at(server.url(database))
                _measure(column, found, options)
    if found:
        say(_table(found))


def _measure(column: str, found: dict[str, dict[str, Took]], options: argparse.Namespace) -> None:
    """One column, in the database that the connections lead to; or what is to be explained."""
    demo = find_demo()
    say(f"{column}: {_size()}")
    visits = [Visit(demo, page, options.rounds) for page in pages_of(demo)]
    if options.explain:
        for visit in visits:
            if visit.page.name == options.explain:
                visit.explain()
        return
    found[column] = {visit.page.name: visit.measure() for visit in visits}
    if options.out:  # after each, so that a run that is cut off leaves what it found
        options.out.write_text(_table(found))


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clubs", type=int, default=CLUBS)
    parser.add_argument("--rounds", type=int, default=ROUNDS)
    parser.add_argument("--explain", metavar="PAGE", help="only the plans of one row's statements")
    parser.add_argument("--out", type=Path, help="a file for the table too")
    parser.add_argument("--tiny", action="store_true", help="two clubs, one round")
    options = parser.parse_args()
    if options.tiny:
        options.clubs, options.rounds = 2, 1
    return options


def _databases(server: Embedded, which: str, clubs: int) -> Iterator[tuple[str, str]]:
    """Each column with its database, made when it is asked for; 'both' is 'clubs' with the car.

    Of the demo with runs there is one: what clubs are copied from is the one without, as before.
    """
    if which == DEMO_WITH_RUNS:
        yield "with runs", DEMO
        return
    point_connections_at(server.url(DEMO))
    demo = find_demo()
    yield "demo", DEMO
    if not clubs:
        return
    later: list[tuple[str, Callable[[psycopg.Connection], None]]] = [
        ("old car", lambda there: add_past(there, demo.car.pk)),
        ("clubs", lambda there: add_clubs(there, demo.club, clubs)),
        ("both", lambda there: add_past(there, demo.car.pk)),
    ]
    for column, adds in later:
        connections.close_all()
        name = "clubs" if column == "both" else column.replace(" ", "_")
        if column != "both":
            copy_database(server, name, DEMO)
        _add(server, name, adds)
        yield column, name


def _add(server: Embedded, name: str, adds: Callable[[psycopg.Connection], None]) -> None:
    started = time.monotonic()
    with loading(server.url(name, SUPERUSER)) as there:
        adds(there)
    say(f"loaded in {time.monotonic() - started:.0f} s")


def _check_keys(server: Embedded, name: str) -> None:
    with psycopg.connect(server.url(name, SUPERUSER)) as there:
        if broken := broken_keys(there):
            raise SystemExit(f"{name}: some row points at none by {', '.join(broken)}")


def _size() -> str:
    with connections["owner"].cursor() as cursor:
        counts = []
        for table in (*COUNTED, "access_trailline"):
            cursor.execute(f"SELECT count(*) FROM {table}")
            counts.append(f"{cursor.fetchone()[0]:,} {table.partition('_')[2]}")
        cursor.execute("SELECT pg_size_pretty(pg_database_size(current_database()))")
        return ", ".join([*counts, str(cursor.fetchone()[0])])


def _table(found: dict[str, dict[str, Took]]) -> str:
    names = [f"{column:^{len(HEAD)}}" for column in found]
    lines = [" | ".join([" " * 24, *names]), " | ".join([" " * 24, *(HEAD for _ in found)])]
    for name in next(iter(found.values())):  # the first has all
        took = (str(column.get(name, "")).ljust(len(HEAD)) for column in found.values())
        lines.append(" | ".join([f"{name:24}", *took]))
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    main()
