"""The queue of the desk: who waits, how the others stand, who is next."""

from collections import Counter
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from uuid import UUID

from clubsetup.quantities.units import Units
from events.models import Entry, Finding
from events.presenters.verdict import figure_of, reason
from events.queries.desk import DeskRow
from events.queries.states import State

# Who is to be seen first stands first; the rest keep the order of their numbers.
ORDER = (State.NOT_WEIGHED, State.TOO_CLOSE, State.FAILS, State.NOT_CHECKED, State.MEETS)
TALLY = {
    State.NOT_WEIGHED: ("waiting", "waiting"),
    State.TOO_CLOSE: ("too close to call", "too close to call"),
    State.FAILS: ("fails", "fail"),
    State.NOT_CHECKED: ("not decided", "not decided"),
    State.MEETS: ("meets", "meet"),
}


@dataclass(frozen=True)
class QueueRow:
    """One car in the queue; `words` say where it stands, `why` what made it so."""

    row: DeskRow
    words: str
    why: str
    is_here: bool

    @property
    def entry(self) -> Entry:
        return self.row.entry

    @property
    def state(self) -> State:
        return self.row.state


@dataclass(frozen=True)
class Queue:
    """Who waits first; `tally` says how many stand where, `next` whose turn it is, of all."""

    rows: list[QueueRow]
    tally: list[str]
    next: Entry | None


def queue(
    rows: Iterable[DeskRow],
    units: Units,
    here: UUID | None = None,
    *,
    shown: Collection[DeskRow] | None = None,
) -> Queue:
    """The queue as an official works through it, with the car that is `here` now.

    `shown`: those that a search is for; all, where it is left out.
    """
    ordered = sorted(rows, key=lambda row: ORDER.index(row.state))
    counted = Counter(row.state for row in ordered)
    waiting = (r.entry for r in ordered if r.state is State.NOT_WEIGHED and r.entry.pk != here)
    return Queue(
        rows=[
            _row(row, units, is_here=row.entry.pk == here)
            for row in ordered
            if shown is None or row in shown
        ],
        tally=[f"{n} {TALLY[state][n != 1]}" for state in ORDER if (n := counted[state])],
        next=next(waiting, None),
    )


def _row(row: DeskRow, units: Units, *, is_here: bool) -> QueueRow:
    words, why = row.state.words.lower(), ""
    if row.state is State.NOT_WEIGHED:
        words = "on the scales" if is_here else "waiting"
    elif row.worst and row.state is not State.MEETS:
        why = _short(row.worst, units)
    return QueueRow(row, words, why, is_here)


def _short(finding: Finding, units: Units) -> str:
    """'1.2 lb under 340 lb'; of several sentences the last, as '0 of 2 looked at'."""
    if found := figure_of(finding, units):
        name, figure = found
        return f"{name} {figure.gap}".lstrip()
    last = reason(finding, units).rpartition(". ")[2]
    return last[:1].lower() + last[1:]
