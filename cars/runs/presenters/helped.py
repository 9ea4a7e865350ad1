"""What two groups of runs say of a change, in words and figures."""

from collections.abc import Iterator
from dataclasses import dataclass

from cars.mechanics.helped import Help

DOUBTS = {
    "surface state": "The surface was in another state.",
    "weather": "The weather was another.",
    "tyres": "Other tyres were on.",
    "driver": "Another driver drove.",
    "timed by hand": "Laps were timed by hand: each press is within 0.15 s.",
}
MARKS = {
    "faster": ("good", "✓"),
    "slower": ("bad", "▼"),
    "no difference worth having": ("good", "✓"),
    "cannot tell": ("close", "≈"),
}
NEXT = {"before": "as it was before", "after": "as it is now"}


@dataclass(frozen=True, slots=True)
class HelpShown:
    """`says` the verdict with its figures, `more` what would tell."""

    help: Help
    look: str
    mark: str
    verdict: str
    figures: str
    more: str
    doubts: list[str]


def show_help(help_: Help, *, pair: bool) -> HelpShown:
    """The verdict first, the figures with their interval, then what to run next."""
    look, mark = MARKS[help_.verdict]
    return HelpShown(
        help=help_,
        look=look,
        mark=mark,
        verdict="1 pair of runs: cannot tell" if pair else help_.verdict,
        figures=(
            f"{_seconds(help_.difference_s)} a lap; 95 % between "
            f"{_seconds(help_.low_s)} and {_seconds(help_.high_s)}"
        ),
        more=" ".join(_more(help_, pair=pair)) if help_.verdict == "cannot tell" else "",
        doubts=[DOUBTS[doubt] for doubt in help_.warnings],
    )


def _more(help_: Help, *, pair: bool) -> Iterator[str]:
    """What to run next, and how many runs would tell a tenth of a second."""
    if pair or help_.tonight:
        yield f"Run it again {NEXT[help_.next_group]}."
    needed = help_.runs_needed
    if needed is None:
        yield "To tell a tenth of a second would take more runs than a season has."
    else:
        runs = "run" if needed == 1 else "runs"
        when = "" if help_.tonight else "Not tonight: "
        some = "some" if when else "Some"
        yield (
            f"{when}{some} {needed} more {runs} would tell a tenth of a second, four times in five."
        )


def _seconds(seconds: float) -> str:
    return f"{'−' if seconds < 0 else '+'}{abs(seconds):.2f} s"
