"""Reads a great many random strings and stops at the first that breaks a promise.

    python tests/benchmarks/fuzz_quantities.py --count 10000000 --seed 1

Prints how many were read and how many were refused. A failure prints the text and the seed.
"""

import argparse
import sys
import time
from collections import Counter
from itertools import islice
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.quantities.near_valid import near_valid
from tests.quantities.promises import check


def run(count: int, seed: int) -> Counter[str]:
    """How many of `count` strings were read, by kind, and how many refused."""
    outcome: Counter[str] = Counter()
    for text, kind in islice(near_valid(seed), count):
        try:
            typed = check(text, kind)
        except Exception:
            sys.stderr.write(f"seed {seed}: {text!r} as {kind} after {outcome.total()} strings\n")
            raise
        outcome[f"read as {kind}" if typed else "refused"] += 1
    return outcome


def main() -> None:
    """Runs, and prints the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    began = time.perf_counter()
    outcome = run(options.count, options.seed)
    took = time.perf_counter() - began
    read = outcome.total() - outcome["refused"]
    sys.stdout.write(
        f"{outcome.total()} strings, seed {options.seed}: {read} read, "
        f"{outcome['refused']} refused, none broke a promise, {took:.0f} s\n"
    )
    for name, count in outcome.most_common():
        sys.stdout.write(f"{count:>12} {name}\n")


if __name__ == "__main__":
    main()
