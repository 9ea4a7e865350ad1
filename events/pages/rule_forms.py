"""Forms for rules, made from what each kind declares that it needs."""

from dataclasses import MISSING, fields
from typing import Any

from django import forms

from cars.models import Measure
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from clubsetup.site.forms import QuantityForm, QuantityInput
from events.models import RuleSet
from events.pages.forms import DateInput
from events.rules import Parameter, RuleKind

# How a choice stands on the page; what is not here stands for itself.
WORDS = {
    "any": "At any time",
    "entry": "Before the race",
    "after": "After the race",
    "event_day": "On the day of the event",
    "year_start": "On 1 January of the year",
    "year_end": "On 31 December of the year",
    "": "Everywhere",
}


class RuleSetForm(forms.Form):
    """The date of a version and how it decides."""

    valid_from = forms.DateField(label="Holds from", widget=DateInput())
    decision = forms.ChoiceField(
        label="Near a limit",
        choices=RuleSet.Decision.choices,
        widget=forms.RadioSelect,
        initial=RuleSet.Decision.READING,
        help_text="With a guard band, a figure nearer to the limit than twice its uncertainty is "
        "too close to call and is taken again.",
    )


class RuleForm(QuantityForm):
    """The parameters of one kind of rule."""

    def __init__(self, *args: Any, kind: type[RuleKind], units: Units, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        needed = {f.name for f in fields(kind) if f.default is MISSING}  # type: ignore[arg-type]
        for name, parameter in kind.parameters().items():
            self.fields[name] = _field(name, parameter, units, required=name in needed)

    def parameters(self) -> dict[str, Any]:
        """What was given, as a rule is kept; what was left empty is left out."""
        given = {
            name: str(value.value) if isinstance(value, Typed) else value
            for name, value in self.cleaned_data.items()
        }
        return {name: value for name, value in given.items() if value not in (None, "")}


def example_values(kind: type[RuleKind], units: Units) -> dict[str, Any]:
    """The kind's example as a person would type it."""
    example, values = kind.example(), {}
    for name, parameter in kind.parameters().items():
        value = getattr(example, name)
        if parameter.quantity and value is not None:
            unit = units.for_kind(parameter.quantity)
            value = show(value, parameter.quantity, unit=unit).text
        values[name] = value
    return values


def _field(name: str, parameter: Parameter, units: Units, *, required: bool) -> forms.Field:
    label = parameter.label
    if parameter.quantity:
        return QuantityInput(kind=parameter.quantity, units=units, label=label, required=required)
    if parameter.sort == "whole":
        return forms.IntegerField(label=label, required=required)
    if parameter.sort == "yes_no":
        return forms.BooleanField(label=label, required=False)
    if parameter.sort == "choice":
        choices = [(c, WORDS.get(c, c)) for c in parameter.choices]
        return forms.ChoiceField(label=label, choices=choices, required=False)
    if name == "measure":
        lengths = Measure.objects.filter(kind=Kind.LENGTH)
        measures = [(m.slug, m.name) for m in lengths]
        return forms.ChoiceField(label=label, choices=measures, required=required)
    return forms.CharField(label=label, required=required)
