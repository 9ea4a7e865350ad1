"""What the pages that are asked for most cost in CPU, in the demo: of the web and of the database.

    uv run python -m tests.benchmarks.page_cpu              # medians of 60 visits to each page
    uv run python -m tests.benchmarks.page_cpu --rounds 15
    uv run python -m tests.benchmarks.page_cpu --profile car   # where the web's time of one goes

The clock says how busy the machine is, CPU how much work a page is. The first row is a page with
nothing on it, which is what signing in, the viewer and the frame of every page cost.
"""

import argparse
import cProfile
import gc
import pstats
import statistics
import sys
import time
from dataclasses import dataclass

from tests.benchmarks.cpu import ProcessClock
from tests.benchmarks.demo_server import PLANNED_CARS, demo_server

# isort: split
from django.db import connections
from django.test.utils import CaptureQueriesContext

from tests.benchmarks.page_times import Visit, say
from tests.benchmarks.timed_pages import Demo, Page, find_demo
from tests.migrated import DEMO, point_connections_at

# Past them everything is kept that is kept: templates, plans of statements.
ROUNDS, WARM_UP = 60, 15
MOST_MS = 30  # of web and database together
LINES_OF_PROFILE = 45
HEAD = f"{'':12} {'queries':>7} {'web ms':>7} {'db ms':>7} {'both':>7}"


@dataclass(frozen=True)
class Used:
    """Medians of one page's visits."""

    name: str
    queries: int
    web: float
    database: float
    both: float

    def __str__(self) -> str:
        over = f"  over {MOST_MS}" if self.both > MOST_MS and self.name != EMPTY else ""
        return (
            f"{self.name:12} {self.queries:7d} {self.web:7.1f} {self.database:7.1f} "
            f"{self.both:7.1f}{over}"
        )


EMPTY = "empty page"


def pages_of(demo: Demo) -> list[Page]:
    """The frame alone, and the pages."""
    car = demo.car.pk
    return [
        Page(EMPTY, "isa", "/me/name"),
        Page("home", "isa", "/"),
        Page("desk", "ossian", f"/events/{demo.event}/desk"),
        Page("desk entry", "ossian", f"/entries/{demo.entry}/"),
        Page("car", "isa", f"/cars/{car}/"),
        Page("bench step", "isa", f"/sheets/{demo.open_sheet}/bench/"),
        Page("drift", "isa", f"/cars/{car}/drift"),
        Page("track", "isa", f"/cars/{car}/track"),
    ]


def measure(visit: Visit, rounds: int) -> Used:
    """The same page again and again; the machine's other work counts in neither clock."""
    for _ in range(min(WARM_UP, rounds)):
        visit.get()
    # As the web server does before its first request (clubsetup/wsgi.py).
    gc.collect()
    gc.freeze()
    database = ProcessClock(connections["default"].connection.info.backend_pid)
    took: list[tuple[float, float]] = []
    for _ in range(rounds):
        web, db = time.process_time_ns() / 1e6, database.ms()
        visit.get()
        took.append((time.process_time_ns() / 1e6 - web, database.ms() - db))
    with CaptureQueriesContext(connections["default"]) as seen:
        visit.get()
    webs, databases = zip(*took, strict=True)
    return Used(
        name=visit.page.name,
        queries=len(seen),
        web=statistics.median(webs),
        database=statistics.median(databases),
        both=statistics.median(map(sum, took)),
    )


def profile(visit: Visit, rounds: int) -> None:
    """Prints where the web's CPU of a page goes, a function a line, in ms a visit."""
    for _ in range(min(WARM_UP, rounds)):
        visit.get()
    profiler = cProfile.Profile(time.process_time, 0.0)
    profiler.enable()
    for _ in range(rounds):
        visit.get()
    profiler.disable()
    stats = pstats.Stats(profiler, stream=sys.stdout)
    for order in ("cumulative", "tottime"):
        stats.sort_stats(order).print_stats(LINES_OF_PROFILE)


def main() -> None:
    """Measures page after page, and prints the table."""
    options = _options()
    with demo_server(1 if options.tiny else PLANNED_CARS) as server:
        point_connections_at(server.url(DEMO))
        demo = find_demo()
        say(f"medians of {options.rounds} visits\n{HEAD}")
        for page in pages_of(demo):
            if options.profile in ("", page.name):
                visit = Visit(demo, page, options.rounds)
                if options.profile:
                    profile(visit, options.rounds)
                else:
                    say(str(measure(visit, options.rounds)))


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rounds", type=int, default=ROUNDS)
    parser.add_argument("--profile", metavar="PAGE", default="", help="one row's functions instead")
    parser.add_argument("--tiny", action="store_true", help="two rounds")
    options = parser.parse_args()
    if options.tiny:
        options.rounds = 2
    return options


if __name__ == "__main__":
    main()
