"""What a car's newest sheet says of a few measures, for what is worked out from the car."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from django.db.models import Exists, OuterRef

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.catalogue.staleness import stale_readings
from cars.figures.derived import Figure, figures_of
from cars.models import Car, Reading, Sheet
from cars.sheets.queries.changes import changes_of


@dataclass(frozen=True, slots=True)
class NewestFigures:
    """The figures of some measures on one sheet, and which of them are to be read again."""

    sheet: Sheet
    figures: Mapping[Key, Figure]
    again: Collection[Key]

    def value(self, measure: str, spot: str) -> float | None:
        """A figure that can be built on: taken, and not stale."""
        key = Key(measure, spot)
        figure = self.figures.get(key)
        return None if figure is None or key in self.again else float(figure.value)


def newest_figures(car: Car, measures: Collection[str], known: Catalogue) -> NewestFigures | None:
    """Of the newest sheet that has any of these measures, in its newest version; no target sheet.

    Three queries, however many sheets the car has.
    """
    taken = Reading.objects.current().filter(
        sheet=OuterRef("pk"), measure__in=measures, value__isnull=False
    )
    sheets = Sheet.objects.current().filter(Exists(taken), car=car)
    sheet = sheets.exclude(role=Sheet.Role.TARGET).order_by("-made_on", "-created_at").first()
    if sheet is None:
        return None
    rows = list(Reading.objects.current().filter(sheet=sheet, measure__in=measures))
    return NewestFigures(
        sheet, figures_of(rows), stale_readings(rows, changes_of(sheet), known).keys()
    )
