"""The form of the pre-check: what the family's scales said, and what lies between them and ours."""

from collections.abc import Mapping
from typing import Any

from django import forms

from cars.mechanics import CORNER_NAMES
from clubsetup.access.errors import Invalid
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed
from clubsetup.quantities.units import Units
from clubsetup.site.forms import QuantityForm, QuantityInput
from events.queries.own_scales import JustRead, just_read
from events.rules.light import Race

# Common practice, no source; every one of them can be written over on the page.
USUAL = {
    "driver_in": "yes",
    "laps": "20",
    "burn": "0.03 lb",
    "burn_known": "30",
    "filled": "0 lb",
    "scales_apart": "0.5 lb",
    "risk": "3",
}
PERCENT = 100.0
OWN = (*CORNER_NAMES, "total", "driver_in", "fuel")


def _box(kind: Kind, label: str, help_text: str = "", **more: Any) -> QuantityInput:
    box = forms.TextInput(attrs={"class": "number", "inputmode": "decimal"})
    return QuantityInput(kind=kind, label=label, help_text=help_text, widget=box, **more)


def _count(label: str, least: int, most: int, help_text: str = "") -> forms.IntegerField:
    box = forms.NumberInput(attrs={"class": "number", "inputmode": "numeric"})
    return forms.IntegerField(
        min_value=least, max_value=most, label=label, help_text=help_text, widget=box
    )


class PrecheckForm(QuantityForm):
    """Readings of one's own, and what happens between the team's scales and the official's."""

    LF = _box(Kind.MASS, "LF", required=False)
    RF = _box(Kind.MASS, "RF", required=False)
    LR = _box(Kind.MASS, "LR", required=False)
    RR = _box(Kind.MASS, "RR", required=False)
    total = _box(Kind.MASS, "or the total", required=False)
    driver_in = forms.ChoiceField(
        choices=[("yes", "Seated, in race dress"), ("no", "Not in the car")], label="Driver"
    )
    fuel = _box(Kind.VOLUME, "Fuel in it", required=False)
    laps = _count("Laps", 0, 500)
    burn = _box(Kind.MASS, "Fuel burnt a lap", "Weigh the can before and after a run to know it.")
    burn_known = _count("Known to about, %", 0, 100, "Of the fuel burnt.")
    filled = _box(Kind.MASS, "Fuel put in before the start", "After the car was weighed.")
    scales_apart = _box(
        Kind.MASS,
        "Your scales and the club's differ by at most",
        "Weigh on both once to know it better.",
    )
    risk = _count("Risk of light you accept, %", 1, 50)

    def __init__(self, sent: Mapping[str, str], *, units: Units) -> None:
        names = [*self.base_fields]
        given = {name: sent[name] for name in names if name in sent}
        super().__init__({**USUAL, **given}, units=units)
        self.units = units
        self.read = JustRead()

    def clean(self) -> dict[str, Any]:
        """Masses are not negative, and the readings go together."""
        given = dict(self.cleaned_data)
        for name in ("burn", "filled", "scales_apart"):
            typed = given.get(name)
            if isinstance(typed, Typed) and typed.value < 0:
                self.add_error(name, "Write zero or more.")
        if not any(name in self.errors for name in OWN):
            self._read(given)
        return given

    def _read(self, given: Mapping[str, Any]) -> None:
        try:
            self.read = just_read(
                pads={corner: given[corner] for corner in CORNER_NAMES},
                total=given["total"],
                driver_in=given["driver_in"] == "yes",
                fuel=given["fuel"],
                units=self.units,
            )
        except Invalid as refusal:
            self.add_error(refusal.field, refusal.message)

    @property
    def race(self) -> Race:
        """As the computation takes it, of a valid form."""
        given = self.cleaned_data
        return Race(
            laps=given["laps"],
            burn=float(given["burn"].value),
            u_burn=given["burn_known"] / PERCENT,
            filled=float(given["filled"].value),
            scales_apart=float(given["scales_apart"].value),
        )

    @property
    def accepted(self) -> float:
        """The risk as a share, of a valid form."""
        return float(self.cleaned_data["risk"]) / PERCENT

    @property
    def pads(self) -> list[forms.BoundField]:
        """The four boxes, as the car stands."""
        return [self[corner] for corner in CORNER_NAMES]

    @property
    def rest(self) -> list[forms.BoundField]:
        """What lies between the scales."""
        return [self[name] for name in self.fields if name not in OWN]
