"""The form of the pre-check: what the family's scales said, and what lies between them and ours."""

from collections.abc import Mapping
from typing import Any

from django import forms

from cars.mechanics import CORNER_NAMES
from clubsetup.access.errors import Invalid
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityLimits
from clubsetup.quantities.units import Units
from clubsetup.site.forms import QuantityForm, QuantityInput
from events.precheck.queries import precheck_params as asking
from events.precheck.queries.precheck_params import Asked, JustRead, asked_of, just_read

OWN = (*CORNER_NAMES, "total", "driver_in", "fuel")


def _box(kind: Kind, label: str, limits: QuantityLimits, **more: Any) -> QuantityInput:
    box = forms.TextInput(attrs={"class": "number", "inputmode": "decimal"})
    return QuantityInput(kind=kind, label=label, limits=limits, widget=box, **more)


def _count(label: str, least: int, most: int, help_text: str = "") -> forms.IntegerField:
    # No number input: browsers send nothing of what they cannot read in one.
    box = forms.TextInput(attrs={"class": "number", "inputmode": "numeric"})
    return forms.IntegerField(
        min_value=least, max_value=most, label=label, help_text=help_text, widget=box
    )


class PrecheckForm(QuantityForm):
    """Readings of one's own, and what happens between the team's scales and the official's."""

    LF = _box(Kind.MASS, "LF", bounds.PAD, required=False)
    RF = _box(Kind.MASS, "RF", bounds.PAD, required=False)
    LR = _box(Kind.MASS, "LR", bounds.PAD, required=False)
    RR = _box(Kind.MASS, "RR", bounds.PAD, required=False)
    total = _box(Kind.MASS, "or the total", asking.TOTAL, required=False)
    driver_in = forms.TypedChoiceField(
        choices=[("yes", "Seated, in race dress"), ("no", "Not in the car")],
        label="Driver",
        coerce=lambda chosen: chosen == "yes",
    )
    fuel = _box(Kind.VOLUME, "Fuel in it", asking.FUEL, required=False)
    laps = _count("Laps", 0, asking.MOST_LAPS)
    burn = _box(
        Kind.MASS,
        "Fuel burnt a lap",
        asking.BURN,
        help_text="Weigh the can before and after a run to know it.",
    )
    burn_known = _count("Known to about, %", 0, asking.PERCENT, "Of the fuel burnt.")
    filled = _box(
        Kind.MASS,
        "Fuel put in before the start",
        asking.FILLED,
        help_text="After the car was weighed.",
    )
    scales_apart = _box(
        Kind.MASS,
        "Your scales and the club's differ by at most",
        asking.APART,
        help_text="Weigh on both once to know it better.",
    )
    risk = _count("Risk of light you accept, %", 1, asking.MOST_RISK)

    def __init__(self, sent: Mapping[str, str], *, units: Units) -> None:
        given = {name: sent[name] for name in self.base_fields if name in sent}
        super().__init__({"driver_in": "yes", **asking.USUAL, **given}, units=units)
        self.units = units
        self.read = JustRead()

    def clean(self) -> dict[str, Any]:
        """The readings go together."""
        given = dict(self.cleaned_data)
        if not any(name in self.errors for name in OWN):
            try:
                self.read = just_read(given, self.units)
            except Invalid as refusal:
                self.add_error(refusal.field, refusal.message)
        return given

    @property
    def asked(self) -> Asked:
        """The question, of a valid form."""
        return asked_of(self.cleaned_data, self.read)

    @property
    def pads(self) -> list[forms.BoundField]:
        """The four boxes, as the car stands."""
        return [self[corner] for corner in CORNER_NAMES]

    @property
    def rest(self) -> list[forms.BoundField]:
        """What lies between the scales."""
        return [self[name] for name in self.fields if name not in OWN]
