"""What a car's newest sheet says of a few measures, for what is worked out from the car."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.catalogue.staleness import stale_readings
from cars.figures.derived import Figure, figures_of, value_to_build_on
from cars.models import Car, Reading, Sheet
from cars.sheets.queries.changes import changes_of
from cars.sheets.queries.sheets import latest_sheets


@dataclass(frozen=True, slots=True)
class NewestFigures:
    """The figures of some measures on one sheet, and which of them are to be read again."""

    sheet: Sheet
    figures: Mapping[Key, Figure]
    again: Collection[Key]

    def value(self, measure: str, spot: str) -> float | None:
        """A figure that can be built on: taken, and not stale."""
        return value_to_build_on(self.figures, self.again, Key(measure, spot))


def newest_figures(car: Car, measures: Collection[str], known: Catalogue) -> NewestFigures | None:
    """Of the newest sheet that has any of these measures, in its newest version; no target sheet.

    Four queries, however many sheets the car has.
    """
    read = Reading.objects.current().filter(measure__in=measures)
    sheet = latest_sheets([car], read.filter(value__isnull=False)).get(car.pk)
    if sheet is None:
        return None
    rows = list(read.filter(sheet=sheet))
    return NewestFigures(
        sheet, figures_of(rows), stale_readings(rows, changes_of(sheet), known).keys()
    )
