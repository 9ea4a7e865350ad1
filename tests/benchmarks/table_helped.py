"""Did it help, on days whose truth is known: the whole table, beside a bootstrap over laps.

    python tests/benchmarks/table_helped.py --days 2000 --seed 1

Prints, over effects of 0, 0.1 and 0.3 s: how often the 95 % interval holds the truth, by third of
the run scatter, by order and by record; how often no effect is called one; and how often 0.1 s is
told where 4 to 40 runs were foretold for it, continued to that number. The days are those of
tests/mechanics/simulated_days.py.
"""

import argparse
import sys
import time
from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.mechanics.simulated_days import KINDS, trials
from tests.mechanics.tried_days import Outcome, try_out

EFFECTS = (0.0, 0.1, 0.3)


def run(days: int, seed: int) -> list[Outcome]:
    """`days` trials with each effect."""
    rng = np.random.default_rng(seed)
    return [try_out(trial, rng) for effect in EFFECTS for trial in trials(seed, days, effect)]


def share(found: Iterable[bool]) -> str:
    """A share in percent, of how many."""
    values = list(found)
    return f"{100 * np.mean(values):5.1f} % of {len(values)}" if values else "none"


def row(name: str, outcomes: Sequence[Outcome]) -> str:
    """How often the two intervals hold the truth, and call no effect one."""
    none = [o for o in outcomes if o.effect == 0.0]
    told = [o.told for o in outcomes if o.continued is not None]
    return (
        f"{name:<14} covers {share(o.covers for o in outcomes)}, "
        f"no effect called {share(o.called for o in none)}, "
        f"told {share(told)} | laps: covers {share(o.bootstrap_covers for o in outcomes)}, "
        f"no effect called {share(o.bootstrap_calls for o in none)}\n"
    )


def table(outcomes: Sequence[Outcome]) -> str:
    """All rows."""
    parts = {
        "all": outcomes,
        **{f"third {n + 1}": [o for o in outcomes if o.third == n] for n in range(3)},
        **{kind: [o for o in outcomes if o.kind == kind] for kind in KINDS},
        "no record": [o for o in outcomes if o.record == 0],
        "3 days": [o for o in outcomes if 0 < o.record <= 24],
        "10 days": [o for o in outcomes if o.record > 24],
        **{f"effect {e}": [o for o in outcomes if abs(o.effect) == e] for e in EFFECTS},
    }
    return "".join(row(name, some) for name, some in parts.items())


def main() -> None:
    """Runs, and prints the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--days", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    began = time.process_time()
    outcomes = run(options.days, options.seed)
    took = time.process_time() - began
    sys.stdout.write(
        f"{options.days} days of each effect, seed {options.seed}, {took:.0f} s of processor\n"
    )
    sys.stdout.write(table(outcomes))


if __name__ == "__main__":
    main()
