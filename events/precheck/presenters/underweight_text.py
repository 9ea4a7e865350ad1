"""What a car lacks and how likely it is light, as a family reads it."""

from decimal import Decimal

from clubsetup.quantities.units import Units
from events.presenters.mass_text import amount


def underweight_message(add: Decimal, risk: float, laps: int, units: Units) -> str:
    """'Add 1.4 lb before the race: 3 % risk of light after 20 laps.'"""
    when = f"after {laps} lap{'' if laps == 1 else 's'}" if laps else "before the race"
    chance_text = f"{percent(risk)} risk of light {when}."
    if not add:
        return f"Nothing to add: {chance_text}"
    return f"Add {amount(add, units)} before the race: {chance_text}"


def percent(share: float) -> str:
    """A chance as people say it."""
    if share < 0.001:
        return "under 0.1 %"
    if share > 0.999:
        return "over 99.9 %"
    return f"{100 * share:.0f} %" if 0.1 <= share <= 0.9 else f"{100 * share:.1f} %"
