"""What is to be taken again on a sheet, in words."""

from collections.abc import Iterable
from dataclasses import dataclass

from cars.catalogue.keys import Key
from cars.figures.formatting import format_box, format_changes
from cars.sheets.queries.retakes import Retake
from clubsetup.quantities.units import Units


@dataclass(frozen=True, slots=True)
class RetakeLine:
    """One box to be taken again."""

    key: Key
    name: str  # 'Weight, left front'
    why: str  # 'spring seat LF +1/2 turn'


def retake_lines(boxes: Iterable[Retake], units: Units) -> list[RetakeLine]:
    """In the order of work."""
    return [
        RetakeLine(
            each.key, format_box(each.measure, each.spot), format_changes(each.causes, units)
        )
        for each in boxes
    ]
