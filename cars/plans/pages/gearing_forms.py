"""The form of gearing."""

from typing import Any

from django import forms

from cars.plans.queries.gearing import (
    FASTEST,
    FEWEST_DRIVEN,
    FEWEST_DRIVING,
    MOST_DRIVEN,
    MOST_DRIVING,
    SLOWEST,
    GearingAsked,
    gearing_asked,
)
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.forms import QuantityForm, QuantityInput


class GearingForm(QuantityForm):
    """Sprockets, what the tyres roll, how fast, and how far the shafts are apart."""

    driving = forms.IntegerField(
        label="Sprocket that drives the axle, teeth",
        min_value=FEWEST_DRIVING,
        max_value=MOST_DRIVING,
        help_text="On the engine or jackshaft; count them, the stamp may be worn.",
    )
    driven = forms.IntegerField(
        label="Sprocket on the axle, teeth", min_value=FEWEST_DRIVEN, max_value=MOST_DRIVEN
    )
    roll_out = QuantityInput(
        kind=Kind.LENGTH, limits=bounds.ROLL_OUT, label="Roll-out of the rear tyres", required=False
    )
    engine_speed = forms.DecimalField(
        label="Engine speed, rpm",
        required=False,
        min_value=SLOWEST,
        max_value=FASTEST,
        help_text="How fast does the car go at it?",
    )
    speed = QuantityInput(
        kind=Kind.SPEED,
        limits=bounds.GROUND_SPEED,
        label="Target speed",
        required=False,
        help_text="How fast does the engine turn at it? As in 38 mph or 60 km/h.",
    )
    centre_distance = QuantityInput(
        kind=Kind.LENGTH,
        limits=bounds.SHAFTS,
        label="Centre distance of the shafts",
        required=False,
        help_text="For the length of the axle's chain.",
    )
    pitch = QuantityInput(
        kind=Kind.LENGTH,
        limits=bounds.CHAIN_PITCH,
        label="Pitch of the chain",
        required=False,
        help_text="From pin to pin, as its maker says: 3/8 in for number 35, 1/2 in for number 40.",
    )
    first_driving = forms.IntegerField(
        label="First stage, driving teeth",
        required=False,
        min_value=FEWEST_DRIVING,
        max_value=MOST_DRIVEN,
        help_text="Only where the engine drives a jackshaft, and that the axle.",
    )
    first_driven = forms.IntegerField(
        label="First stage, driven teeth",
        required=False,
        min_value=FEWEST_DRIVING,
        max_value=MOST_DRIVEN,
    )

    outcome: Any

    @property
    def asked(self) -> GearingAsked:
        """What was asked, canonical; of a valid form."""
        return gearing_asked(self.cleaned_data)
