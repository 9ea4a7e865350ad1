"""Which cars a draw is among, and how each came to its place."""

from dataclasses import dataclass

from events.models import Draw, Event, EventClass
from events.queries.published import start_list
from events.rules.draw import Ticket, by_hand, tickets


def candidates_for(event: Event, event_class: EventClass | None) -> list[str]:
    """The cars as the start list has them: numbers of one class, or class and number of all."""
    listed = start_list(event.pk)
    if event_class is None:
        return [f"{line.race_class} {line.number}" for line in listed]
    return [line.number for line in listed if line.race_class == str(event_class)]


@dataclass(frozen=True)
class DrawView:
    """A draw with everything that it takes to repeat it."""

    draw: Draw

    @property
    def tickets(self) -> list[Ticket]:
        """Every candidate with its hash, in the order of the draw."""
        return tickets(self.draw.seed, self.draw.candidates)

    @property
    def by_hand(self) -> str:
        """One line that prints the same cars."""
        return by_hand(self.draw.seed, self.draw.candidates, len(self.draw.drawn))

    @property
    def repeats(self) -> bool:
        """Whether drawing again now gives what is kept."""
        return [t.car for t in self.tickets[: len(self.draw.drawn)]] == list(self.draw.drawn)
