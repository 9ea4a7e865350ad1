"""A busy morning at the desk, with the plug pulled: nothing acknowledged may be missing.

Run by hand: `uv run python -m tests.benchmarks.load_desk` (five minutes; `--scale 0.25` for a
quarter of the time at the same rate, `--tiny` to see that it still runs). It starts the service in
a folder of its own on loopback, makes an event with 300 entries, lets three officials weigh and
others load pages, kills web, worker and database with -9 at random moments, and then looks whether
every weigh-in that was acknowledged is stored, with its findings and its line in the trail. Prints
its figures; fails if one is missing.
"""

import argparse
import json
import random
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.benchmarks.desk_visitors import KILLED, Morning, desk, killer, visitor
from tests.runtime.service import HOUSE, STEWARD, Service, until

SECONDS, ENTRIES, LOADS, DESKS, VISITORS = 300, 300, 2000, 3, 6


def say(line: str) -> None:
    """One figure, at once: a long run is watched."""
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main() -> None:
    """The whole morning."""
    options = _options()
    with tempfile.TemporaryDirectory(prefix="desk") as folder:
        service = Service(Path(folder) / "data", DJANGO_SETTINGS_MODULE="clubsetup.settings")
        try:
            service.start()
            made = _fill(service, options.entries)
            say(f"{options.entries} entries made in {made['took']:.0f} s; seed {options.seed}")
            morning = _run(service, made, options)
            _calm_down(service)
            fine = _report(service, morning, options)
        finally:
            service.kill_everything()
    sys.exit(0 if fine else 1)


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--scale", type=float, default=1.0, help="of five minutes; 0.05 to 1")
    parser.add_argument("--seed", type=int, default=random.randrange(10**6))
    parser.add_argument("--entries", type=int, default=ENTRIES)
    parser.add_argument("--no-kills", action="store_true", help="only the load")
    parser.add_argument("--tiny", action="store_true", help="seconds, and web and worker killed")
    options = parser.parse_args()
    options.scale = min(1.0, max(0.05, options.scale))
    options.kills = () if options.no_kills else KILLED
    if options.tiny:
        options.scale, options.entries, options.kills = 0.01, DESKS, ("web", "worker")
    options.seconds = SECONDS * options.scale
    options.loads = round(LOADS * options.scale)
    return options


def _fill(service: Service, entries: int) -> dict[str, Any]:
    """The event, made by the actions in a process of its own, and everybody's session."""
    command = [sys.executable, "-m", "tests.benchmarks.desk_event", str(entries)]
    env = {**service.env, "STEWARD": STEWARD["CLUBSETUP_STEWARD_EMAIL"]}
    said = subprocess.run(
        command, cwd=HOUSE, env=env, capture_output=True, text=True, timeout=600, check=False
    )
    if said.returncode:
        raise SystemExit(said.stderr)
    found: dict[str, Any] = json.loads(said.stdout.splitlines()[-1])
    return found


def _run(service: Service, made: dict[str, Any], options: argparse.Namespace) -> Morning:
    chance = random.Random(options.seed)
    morning = Morning(
        port=service.port,
        event=made["event"],
        scale_set=made["scale_set"],
        entries=made["entries"],
        sessions=made["sessions"],
        ends=time.monotonic() + options.seconds,
        loads=options.loads,
        seconds=options.seconds,
    )
    people: list[tuple[Callable[..., None], int, int]] = [(desk, n, DESKS) for n in range(DESKS)]
    people += [(visitor, n, VISITORS) for n in range(VISITORS)]
    threads = [
        threading.Thread(target=does, args=(morning, n, of, random.Random(chance.random())))
        for does, n, of in people
    ]
    if options.kills:
        pulls = (morning, service, options.kills, chance)
        threads.append(threading.Thread(target=killer, args=pulls))
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return morning


def _calm_down(service: Service) -> None:
    """Lets the prints that are still to be made be made."""
    waiting = "SELECT 1 FROM printing_printjob WHERE state NOT IN ('done', 'failed')"
    until(lambda: not service.rows(waiting), "the prints", seconds=180)


def _report(service: Service, morning: Morning, options: argparse.Namespace) -> bool:
    kills = ", ".join(f"{what} at {when:.0f} s" for when, what in morning.kills) or "none"
    say(f"{options.seconds:.0f} s, {DESKS} desks, {VISITORS} visitors; killed: {kills}")
    calm = [took for when, took in morning.page_times if not morning.out_at(when)]
    _figures("page loads", [took for _, took in morning.page_times])
    _figures("  of them outside outages", calm)
    _figures("weigh-ins acknowledged", morning.weigh_times)
    say(
        f"page loads that failed: {sum(morning.failed.values())} {dict(morning.failed)}; "
        f"weigh-ins sent again after a failure: {morning.again}, never kept: {morning.never_kept}; "
        f"out for {sum(b - a for a, b in morning.outages):.0f} s in all"
    )
    for name, times in sorted(morning.by_page.items()):
        _figures(f"  {name}", times)
    return _nothing_lost(service, morning)


def _figures(name: str, seconds: list[float]) -> None:
    if len(seconds) < 2:
        say(f"{name}: {len(seconds)}")
        return
    cuts = statistics.quantiles(seconds, n=20)
    say(
        f"{name}: {len(seconds)}, p50 {1000 * statistics.median(seconds):.0f} ms, "
        f"p95 {1000 * cuts[-1]:.0f} ms, longest {1000 * max(seconds):.0f} ms"
    )


def _nothing_lost(service: Service, morning: Morning) -> bool:
    kept = Counter(str(row["id"]) for row in service.rows("SELECT id FROM events_weighin"))
    lost = [row_id for row_id in morning.acknowledged if row_id not in kept]
    bare = service.rows(
        "SELECT w.id FROM events_weighin w WHERE NOT EXISTS (SELECT FROM events_finding f "
        "WHERE f.weigh_in_id = w.id) OR NOT EXISTS (SELECT FROM access_trailline a "
        "WHERE a.on_id = w.id AND a.did = 'weighed')"
    )
    jobs = service.rows("SELECT state, count(*) AS n FROM printing_printjob GROUP BY state")
    states = {row["state"]: row["n"] for row in jobs}
    prints_lost = morning.prints - sum(states.values())
    say(
        f"acknowledged weigh-ins {len(morning.acknowledged)}, stored {len(kept)}, lost "
        f"{len(lost)}, without finding or trail {len(bare)}; prints acknowledged "
        f"{morning.prints}, {states}"
    )
    whole = not lost and not bare and not morning.never_kept
    return whole and prints_lost <= 0 and set(states) <= {"done"}


if __name__ == "__main__":
    main()
