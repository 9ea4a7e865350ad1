"""The demo's true effects beside what 'did it help' says: of each day, and over all of them.

python -m tests.benchmarks.table_true_effects
"""

import sys

from tests.events.driven_trials import demo_truth, on_each_day, over_all_days


def main() -> None:
    """Prints both tables, and how many intervals hold the truth."""
    for name, tried in (
        ("of each day", list(on_each_day(demo_truth()))),
        ("over all days", list(over_all_days(demo_truth()))),
    ):
        lines = "\n".join(map(str, tried))
        held = sum(one.covers for one in tried)
        sys.stdout.write(f"{name}: {held} of {len(tried)} intervals hold the truth\n{lines}\n\n")


if __name__ == "__main__":
    main()
