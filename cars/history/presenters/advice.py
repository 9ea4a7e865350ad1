"""Advice as people read it: what, of which box, by whom, and what came of it."""

from collections.abc import Iterable
from dataclasses import dataclass

from cars.figures.formatting import format_box, format_figure
from cars.history.queries.advice import SinceAdvice
from cars.models import Advice
from cars.models.catalogue import Taken
from cars.runs.presenters.helped import HelpShown, show_help
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.texts import same_text
from clubsetup.quantities.units import Units

OUTCOMES = {
    "there": ("good", "tick", "Followed: it is where the advice wanted it."),
    "towards": ("good", "tick", "Followed in part: it came nearer to what the advice wanted."),
    "away": ("bad", "high", "It went the other way."),
    "cannot tell": ("close", "waves", "It moved by no more than the tools can tell."),
}


@dataclass(frozen=True, slots=True)
class AdviceLine:
    """One piece of advice. `about`: its box and the figure wanted; empty for the whole car."""

    advice: Advice
    about: str
    answers: str

    @property
    def is_open(self) -> bool:
        """Nobody ticked it off."""
        return self.advice.done_at is None


@dataclass(frozen=True, slots=True)
class SinceShown:
    """What came of it; `helped` where runs before and after tell of it, else `unheld` says why."""

    look: str
    mark: str
    says: str
    figures: str = ""
    helped: HelpShown | None = None
    unheld: str = ""


def advice_line(advice: Advice, viewer: User) -> AdviceLine:
    """In the viewer's units."""
    answers: int = getattr(advice, "answers", 0)
    said = f"{answers} answer{'s' * (answers != 1)}" if answers else ""
    return AdviceLine(advice, _about(advice, _units(advice, viewer)), said)


def advice_lines(rows: Iterable[Advice], viewer: User) -> list[AdviceLine]:
    """Each of them."""
    return [advice_line(row, viewer) for row in rows]


def since_shown(advice: Advice, since: SinceAdvice | None, viewer: User) -> SinceShown | None:
    """What readings say of it; None of advice that names no figure."""
    measure = advice.measure
    if since is None or measure is None:
        return None
    units = _units(advice, viewer)
    if since.outcome is None or since.before is None or since.after is None:
        when = "No closed sheet as set since has this figure."
        if since.after is not None:
            when = "No closed sheet as set before the advice has this figure."
        return SinceShown("none", "ring", f"{when} So nothing tells whether it was followed.")
    look, mark, says = OUTCOMES[since.outcome]
    was, now = (format_figure(f.value, measure, units) for f in (since.before, since.after))
    helped = show_help(since.help, pair=since.is_pair) if since.help else None
    unheld = "" if helped else _unheld(since)
    return SinceShown(look, mark, says, f"{was} before, {now} now", helped, unheld)


def _unheld(since: SinceAdvice) -> str:
    """Why no runs are held against each other."""
    if since.before and since.after and since.before.value == since.after.value:
        return "The figure is the same as before, so runs say nothing of the advice."
    if since.outcome in ("there", "towards"):
        return "Whether it helped: it takes runs with laps on both sheets."
    return "It was not followed, so runs do not say whether it helps."


def _about(advice: Advice, units: Units) -> str:
    measure = advice.measure
    if measure is None:
        return ""
    box = format_box(measure, advice.spot)
    if advice.wanted is None or measure.taken not in (Taken.QUANTITY, Taken.DERIVED):
        return box
    wanted = same_text(advice.wanted_typed, advice.wanted, Kind(measure.kind), units=units).text
    return f"{box}: {wanted}"


def _units(advice: Advice, viewer: User) -> Units:
    return viewer.units(advice.team.club.units())
