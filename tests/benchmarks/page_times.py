"""What every page and list costs: in the demo without runs and with three seasons of them, with an
old car, among 300 clubs, and with both of these.

    uv run python -m tests.benchmarks.page_times            # 300 clubs; 9 GB, ten minutes
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
from collections.abc import Callable
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
TURNS = 3  # each database in turn, so many times
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

    def __truediv__(self, other: "Took") -> str:
        """'1.08 x, CPU 1.05': by the clock, and by what both processes worked."""
        worked = (self.web + self.database) / (other.web + other.database)
        return f"{self.p50 / other.p50:.2f} x, CPU {worked:.2f}"


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
        self.times: list[float] = []
        self.web = self.database = 0.0

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

    def take(self, rounds: int) -> None:
        """So many more, after some that only warm up."""
        for _ in range(min(WARM_UP, rounds - 1)):
            self.get()
        connections["default"].ensure_connection()
        web, database = time.process_time(), _database_cpu()
        for _ in range(rounds):
            if _is_long(self.times):
                break
            started = time.perf_counter()
            self.get()
            self.times.append(time.perf_counter() - started)
        self.web += time.process_time() - web
        self.database += _database_cpu() - database

    def took(self) -> Took:
        """All its figures."""
        costs = self.costs()
        bare = sum(without.ms for _, without in costs)
        return Took(
            p50=1000 * statistics.median(self.times),
            web=1000 * self.web / len(self.times),
            database=1000 * self.database / len(self.times),
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
    """Makes the databases, measures them in turns, and prints the table."""
    options = _options()
    for which in DEMOS:
        make_demo(which)
    table: dict[str, dict[str, Took]] = {}
    # Of the demo with runs there is one: what clubs are copied from is the one without.
    for which in DEMOS:
        with demo_server(1 if options.tiny else PLANNED_CARS, which) as server:
            alone = which == DEMO_WITH_RUNS
            there = {"with runs": DEMO} if alone else _databases(server, options)
            _measure(server, there, table, options)
    if table:
        say(_table(table))


def _measure(
    server: Embedded,
    there: dict[str, str],
    table: dict[str, dict[str, Took]],
    options: argparse.Namespace,
) -> None:
    """The columns of one server's databases; or the statements of the page to be explained."""
    visits: dict[str, dict[str, Visit]] = {}
    for column, database in there.items():
        point_connections_at(server.url(database))
        demo = find_demo()
        say(f"{column}: {_size()}")
        visits[column] = {page.name: Visit(demo, page, options.rounds) for page in pages_of(demo)}
        if options.explain in visits[column]:
            visits[column][options.explain].explain()
    if options.explain:
        return
    for name in next(iter(visits.values())):
        for column, took in _in_turns(server, there, visits, name, options.rounds).items():
            table.setdefault(column, {})[name] = took
        if options.out:  # after each, so that a run that is cut off leaves what it measured
            options.out.write_text(_table(table))


def _in_turns(
    server: Embedded,
    there: dict[str, str],
    visits: dict[str, dict[str, Visit]],
    name: str,
    rounds: int,
) -> dict[str, Took]:
    """One page in every database, a few times each and again: what else the machine does while
    it is measured then falls on all of them alike."""
    took, turns = {}, min(TURNS, rounds)
    for turn in range(turns):
        for column, database in there.items():
            point_connections_at(server.url(database))
            visits[column][name].take(rounds // turns)
            if turn == turns - 1:
                took[column] = visits[column][name].took()
    return took


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


def _databases(server: Embedded, options: argparse.Namespace) -> dict[str, str]:
    """Each column with its database; 'both' is a copy of 'clubs' with the old car."""
    point_connections_at(server.url(DEMO))
    demo = find_demo()
    connections.close_all()
    made = {"demo": DEMO}
    if not options.clubs:
        return made
    for column, copied, adds in (
        ("old car", "demo", lambda there: add_past(there, demo.car.pk)),
        ("clubs", "demo", lambda there: add_clubs(there, demo.club, options.clubs)),
        ("both", "clubs", lambda there: add_past(there, demo.car.pk)),
    ):
        made[column] = column.replace(" ", "_")
        copy_database(server, made[column], made[copied])
        _add(server, made[column], adds)
        if options.tiny:
            _check_keys(server, made[column])
    return made


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


def _table(table: dict[str, dict[str, Took]]) -> str:
    """A row a page; last how many times its time in the demo it takes with both."""
    columns = [f"{column:^{len(HEAD)}}" for column in table]
    lines = [" | ".join([" " * 24, *columns]), " | ".join([" " * 24, *(HEAD for _ in table)])]
    for name in next(iter(table.values())):  # the first has all
        took = (str(column.get(name, "")).ljust(len(HEAD)) for column in table.values())
        demo, both = (table.get(column, {}).get(name) for column in ("demo", "both"))
        times = f"  {both / demo}" if demo and both else ""
        lines.append(" | ".join([f"{name:24}", *took]) + times)
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    main()
