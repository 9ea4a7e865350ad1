"""Tables of suggestions as people read them."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from cars.catalogue.adjusters import ADJUSTERS
from cars.figures.formatting import format_adjustment, format_amount
from cars.models import Suggestion, SuggestionTable
from cars.runs.queries.suggestions import section_of
from clubsetup.access.models import User
from clubsetup.quantities.units import Units

SECTIONS = {
    "anywhere": "Anywhere in the corner",
    "entry": "At entry",
    "middle": "In the middle",
    "exit": "At exit",
    "otherwise": "Hands, steering, track",
}
_WHERE = {"": "anywhere", "entry": "at entry", "middle": "in the middle", "exit": "at exit"}


def table_title(table: SuggestionTable) -> str:
    """'Suggestions of Alder Hollow, version 2': whose they are and which."""
    return f"Suggestions of {table.coach or table.team or table.club}, version {table.version}"


def felt_words(row: Suggestion) -> str:
    """'Pushes at entry, steering heavy · paved, hot track': when a row is to be tried."""
    felt = []
    if row.balance:
        felt.append(f"{row.get_balance_display()} {_WHERE[row.place]}")
    if row.hands:
        felt.append(f"hands {row.get_hands_display().lower()}")
    if row.steering:
        felt.append(f"steering {row.get_steering_display().lower()}")
    words = [text.lower() for text in (row.get_surface_display(), row.get_surface_state_display())]
    on = ", ".join(word for word in words if word)
    said = " · ".join(part for part in (", ".join(felt), on) if part)
    return said[:1].upper() + said[1:]


def change_words(row: Suggestion, units: Units) -> str:
    """'spring seat RF −1/2 turn: up, off it'."""
    amount = format_amount(row.amount, row.unit, units)
    return f"{format_adjustment(row.adjuster, row.spot, amount)}: {way_words(row)}"


def way_words(row: Suggestion) -> str:
    """What the amount's sign is to the hand: 'up, off it'."""
    adjuster = ADJUSTERS[row.adjuster]
    return (adjuster.more if row.amount > 0 else adjuster.less or adjuster.more).lower()


@dataclass(frozen=True, slots=True)
class SuggestionLine:
    """A row in the reader's units."""

    row: Suggestion
    felt: str
    change: str

    @property
    def source(self) -> str:
        """'The maker's sheet: the green one'."""
        note = f": {self.row.source_note}" if self.row.source_note else ""
        return self.row.get_source_display() + note


@dataclass(frozen=True, slots=True)
class SuggestionSection:
    """The rows of one place in the corner."""

    slug: str
    title: str
    lines: list[SuggestionLine]


@dataclass(frozen=True, slots=True)
class TableView:
    """A table with its rows by the place in the corner."""

    table: SuggestionTable
    title: str
    sections: list[SuggestionSection]

    @property
    def count(self) -> int:
        """How many rows it has."""
        return sum(len(section.lines) for section in self.sections)


def show_table(table: SuggestionTable, viewer: User) -> TableView:
    """The table in the viewer's units. One query."""
    units = viewer.units(table.club.units())
    lines = [
        SuggestionLine(row, felt_words(row), change_words(row, units))
        for row in table.suggestions.all()
    ]
    return TableView(table, table_title(table), list(_sections(lines)))


def _sections(lines: list[SuggestionLine]) -> Iterable[SuggestionSection]:
    for slug, title in SECTIONS.items():
        here = [line for line in lines if section_of(line.row) == slug]
        if here:
            yield SuggestionSection(slug, title, here)


@dataclass(frozen=True, slots=True)
class TableLine:
    """A table in a list of them."""

    table: SuggestionTable
    title: str

    @property
    def pk(self) -> UUID:
        """The table's id."""
        return self.table.pk


def table_lines(tables: Iterable[SuggestionTable]) -> list[TableLine]:
    """Each with its title."""
    return [TableLine(table, table_title(table)) for table in tables]
