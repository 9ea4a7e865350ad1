"""Forms for quantities, which people write the way they say them, and for their units."""

from collections.abc import Mapping
from typing import Any

from django import forms

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityError, QuantityLimits, Typed, parse
from clubsetup.quantities.table import unit_of, units_of
from clubsetup.quantities.units import Units


class QuantityInput(forms.CharField):
    """A box for one quantity: `46 5/16`, `118 cm`, `11 psi`.

    Cleans to `Typed`, or to None where the box may stay empty and does. `units` says what a
    bare number means; set it on the bound field (or use `QuantityForm`) where it depends on who
    is typing. What was typed stays in the box when it is refused. `limits` are always said (see
    clubsetup/quantities/bounds.py): None only where the action holds it against its own.
    """

    def __init__(
        self,
        *,
        kind: Kind,
        limits: QuantityLimits | None,
        units: Units | None = None,
        **kwargs: Any,
    ) -> None:
        self.kind = Kind(kind)
        self.units = units or Units.imperial()
        self.limits = limits
        kwargs.setdefault("max_length", 60)
        super().__init__(**kwargs)

    def widget_attrs(self, widget: forms.Widget) -> dict[str, Any]:
        """Neither completed nor corrected by the browser: figures are not words."""
        attrs = super().widget_attrs(widget)
        return {**attrs, "autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}

    def clean(self, value: Any) -> Typed | None:
        """The quantity typed; the parser's own sentence where it is none."""
        text: str = super().clean(value)
        if not text:
            return None
        try:
            return parse(text, self.kind, units=self.units, limits=self.limits)
        except QuantityError as refusal:
            raise forms.ValidationError(refusal.message, code="quantity") from refusal


class QuantityForm(forms.Form):
    """A form whose quantity boxes take bare numbers in `units`."""

    def __init__(self, *args: Any, units: Units | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            if units is not None and isinstance(field, QuantityInput):
                field.units = units


UNIT_LABELS = {
    "length": "Lengths",
    "mass": "Weights",
    "pressure": "Pressures",
    "spring_rate": "Spring rates",
    "temperature": "Temperatures",
    "volume": "Fuel",
    "torque": "Torques",
    "speed": "Speeds",
}


class UnitsForm(forms.Form):
    """A choice of unit for each kind that people differ on; `fallback` says what stands else."""

    def __init__(
        self, *args: Any, chosen: Mapping[str, str], fallback: str, over: Units, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        for kind, label in UNIT_LABELS.items():
            usual = unit_of(Kind(kind), over.for_kind(Kind(kind))).suffix.strip()
            units = [(u.name, u.suffix.strip()) for u in units_of(Kind(kind)).values()]
            self.fields[kind] = forms.ChoiceField(
                label=label,
                required=False,
                choices=[("", f"{fallback} ({usual})"), *units],
                initial=chosen.get(kind, ""),
            )

    def clean(self) -> dict[str, Any]:
        """The choices as one mapping under `units`, as the actions take it."""
        return {"units": {kind: unit for kind, unit in self.cleaned_data.items() if unit}}
