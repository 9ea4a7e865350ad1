"""Where a figure of the bench stands between its tolerances, and where it was set last time."""

from decimal import Decimal

from django.utils.safestring import SafeString

from cars.sheets.presenters.boxes import Box
from clubsetup.plots.bands import Band
from clubsetup.plots.strip import Reading, State, target_strip


def box_strip(box: Box, set_before: Decimal | None) -> SafeString:
    """The strip as SVG; empty without a target, or where nothing may be off.

    `set_before` is what was set last time, canonical. The words beside it say the same, so a screen
    reader passes it over.
    """
    standard, figure = box.standard, box.figure
    if standard is None or standard.tolerance <= 0 or box.wrong:
        return SafeString("")
    reading = Reading(
        Band.around(standard.target, standard.tolerance),
        State(box.state) if figure else State.NOT_TAKEN,
        float(figure.value) if figure else None,
        float(figure.reach) if figure else 0.0,
        None if set_before is None else float(set_before),
    )
    return SafeString(target_strip(reading, name=""))
