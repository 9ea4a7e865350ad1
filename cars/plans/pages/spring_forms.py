"""The forms of springs: one from its wire, and one on its tyre."""

from typing import Any

from django import forms

from cars.mechanics import CORNER_NAMES
from cars.plans.queries.spring_rates import LEAST_COILS, MOST_COILS
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.forms import QuantityForm, QuantityInput


class CoilForm(QuantityForm):
    """What a coil spring is wound of."""

    wire = QuantityInput(
        kind=Kind.LENGTH,
        limits=bounds.WIRE,
        label="Diameter of the wire",
        help_text="Bare of paint, with calipers. One part in a hundred thicker is four stiffer.",
    )
    mean_diameter = QuantityInput(
        kind=Kind.LENGTH,
        limits=bounds.COIL,
        label="Mean diameter of the coil",
        help_text="Outside diameter less one wire.",
    )
    active_coils = forms.DecimalField(
        label="Active coils",
        min_value=LEAST_COILS,
        max_value=MOST_COILS,
        help_text="Those that are free to move: all coils less those lying on the ends, as in 7.5.",
    )

    outcome: Any


class OnTyreForm(QuantityForm):
    """A spring, how the axle moves it, and the tyre under it."""

    corner = forms.ChoiceField(
        label="Corner",
        choices=[("", "Any"), *((corner, corner) for corner in CORNER_NAMES)],
        required=False,
        widget=forms.HiddenInput,
    )
    rate = QuantityInput(
        kind=Kind.SPRING_RATE, limits=bounds.SPRING_RATE, label="Rate of the spring"
    )
    motion_ratio = forms.DecimalField(
        label="Spring travel per axle travel",
        min_value=bounds.MOTION_RATIO.low,
        max_value=bounds.MOTION_RATIO.high,
        help_text="1 where the spring stands upright on the axle; less where it leans.",
    )
    tyre_rate = QuantityInput(
        kind=Kind.SPRING_RATE, limits=bounds.TYRE_RATE, label="Rate of the tyre"
    )
