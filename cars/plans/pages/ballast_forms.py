"""The form of what the car must weigh."""

from typing import Any
from uuid import UUID

from django import forms

from cars.mechanics.fuel import DENSITIES
from cars.models import Sheet
from cars.plans.queries.ballast import Weighing, weighing_of
from cars.plans.queries.class_limits import ClassLimit
from clubsetup.access.errors import Invalid
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from clubsetup.site.forms import QuantityForm, QuantityInput


class WeighingForm(QuantityForm):
    """The minimum, the margin, and the fuel now and at the weighing."""

    weighing: Weighing
    minimum = QuantityInput(kind=Kind.MASS, limits=bounds.CAR, label="Class minimum, with driver")
    margin = QuantityInput(
        kind=Kind.MASS,
        limits=bounds.MARGIN,
        label="Margin above it",
        help_text="For scales that differ: 1 lb or more.",
    )
    fuel_now = QuantityInput(kind=Kind.VOLUME, limits=bounds.FUEL, label="Fuel in it now")
    fuel_then = QuantityInput(
        kind=Kind.VOLUME,
        limits=bounds.FUEL,
        label="Fuel at the weighing",
        required=False,
        help_text="Empty: the same as now.",
    )
    fuel = forms.ChoiceField(
        choices=[(name, name.capitalize()) for name in DENSITIES], required=False
    )
    tank_x = QuantityInput(
        kind=Kind.LENGTH,
        limits=bounds.ALONG_THE_CAR,
        label="Tank ahead of the rear axle",
        required=False,
        help_text="Needed where the fuel differs; minus is behind it.",
    )
    tank_y = QuantityInput(
        kind=Kind.LENGTH,
        limits=bounds.ACROSS_THE_CAR,
        label="Tank left of the middle",
        required=False,
        help_text="Minus: right.",
    )
    driver = QuantityInput(
        kind=Kind.MASS,
        limits=bounds.HEAVIER,
        label="Heavier at the weighing by",
        required=False,
        help_text="The driver in a coat, say. Minus where lighter: fuel burnt, told by its weight.",
    )
    between = QuantityInput(
        kind=Kind.MASS,
        limits=bounds.DOUBT,
        label="Doubt between these scales and those that decide",
        required=False,
        help_text="A standard uncertainty. Empty: as these scales read.",
    )

    def __init__(
        self, *args: Any, sheet: Sheet, units: Units, limit: ClassLimit | None, **kwargs: Any
    ) -> None:
        super().__init__(*args, units=units, **kwargs)
        self.initial["margin"] = "1 lb" if units.mass == "lb" else "0.5 kg"
        self.initial["fuel_now"] = sheet.fuel_typed
        if limit is not None and limit.minimum is not None:
            self.initial["minimum"] = show(limit.minimum, Kind.MASS, unit=units.mass).text

    def clean(self) -> dict[str, Any]:
        """Keeps the weighing that was described."""
        given = super().clean() or {}
        if not self.errors:
            try:
                self.weighing = _weighing(given)
            except Invalid as refusal:
                self.add_error(refusal.field, refusal.message)
        return given


def _weighing(given: dict[str, Any]) -> Weighing:
    then, x, y, between = (given[name] for name in ("fuel_then", "tank_x", "tank_y", "between"))
    return weighing_of(
        _value(given["minimum"]),
        _value(given["margin"]),
        _value(given["fuel_now"]),
        _value(then) if then else None,
        _value(x) if x else None,
        _value(y),
        fuel=given["fuel"] or "gasoline",
        driver=_value(given["driver"]),
        between=None if between is None else _value(between),
    )


def _value(typed: Typed | None) -> float:
    return float(typed.value) if typed else 0.0


def sent_moves(texts: list[str]) -> list[tuple[UUID, UUID | None]]:
    """Pieces and where each goes, as the cards send them: 'piece:mount' or 'piece:'."""
    moves = []
    for text in texts:
        piece, _, mount = text.partition(":")
        try:
            moves.append((UUID(piece), UUID(mount) if mount else None))
        except ValueError as wrong:
            raise Invalid("move", "Say which piece goes where.") from wrong
    return moves


def ids_in(texts: list[str]) -> list[UUID]:
    """The pieces that somebody named; what is no id names none."""
    ids = []
    for text in texts:
        try:
            ids.append(UUID(text))
        except ValueError:
            continue
    return ids
