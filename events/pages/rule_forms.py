"""Forms for rules, made from what each kind declares that it needs."""

from dataclasses import MISSING, fields
from decimal import Decimal
from typing import Any

from django import forms
from django.utils import timezone

from clubsetup.access.errors import Invalid
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed
from clubsetup.quantities.table import units_of
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from clubsetup.site.forms import QuantityForm, QuantityInput
from events.actions.rule_sets import declare_rule
from events.models import RuleSet
from events.pages.forms import DateInput
from events.queries.readings import lengths
from events.rules import Parameter, RuleKind
from events.rules.sensible import format_bounds
from teams.models import RaceClass

# How a choice stands on the page; what is not here stands for itself.
WORDS = {
    "any": "At any time",
    "entry": "Before the race",
    "after": "After the race",
    "fuel_in": "With fuel in the tank",
    "tank_empty": "With the tank empty",
    "event_day": "On the day of the event",
    "year_start": "On 1 January of the year",
    "year_end": "On 31 December of the year",
    "": "Everywhere",
    "front": "Front",
    "rear": "Rear",
    "left": "Left",
    "right": "Right",
    "car": "The car",
}
WORDS_OF = {("fuel", "any"): "As it comes"}


class RuleSetForm(forms.Form):
    """The date of a version and how it decides."""

    valid_from = forms.DateField(label="Holds from", widget=DateInput())
    decision = forms.ChoiceField(
        label="Near a limit",
        choices=RuleSet.Decision.choices,
        widget=forms.RadioSelect,
        initial=RuleSet.Decision.READING,
        help_text="Either way the finding shows by how much and how sure. The reading decides: on "
        "the limit or inside it meets, and close to it up to half of the answers may be wrong. "
        "With a guard band: it meets from a chance of 97.7% that the car meets every limit, and "
        "fails up to 2.3%; between the two it is too close to call, and weighed or measured again.",
    )


OFFERED = 20  # versions to begin with, the newest


class VersionChoice(forms.ModelChoiceField):  # type: ignore[type-arg]  # not generic when run
    """A version of a class's rules, by its number."""

    def label_from_instance(self, obj: Any) -> str:
        """'Version 2 (published)'."""
        return f"Version {obj.version} ({obj.get_state_display().lower()})"


class RuleSetDraftForm(RuleSetForm):
    """A new version, and what it begins with."""

    copy_of = VersionChoice(
        RuleSet.objects.none(),
        label="Begins with",
        required=False,
        empty_label="No rule",
        help_text="Ballast marked with its weight begins with a tolerance where that version set "
        "none. What is new stands among the changes; change it or take it out before publishing.",
    )

    def __init__(self, *args: Any, race_class: RaceClass, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        versions = race_class.rule_sets.order_by("-version")
        begins = self.fields["copy_of"]
        assert isinstance(begins, forms.ModelChoiceField)  # noqa: S101 (declared above)
        begins.queryset = versions
        newest = list(versions[:OFFERED])
        begins.choices = [
            ("", begins.empty_label),
            *((each.pk, begins.label_from_instance(each)) for each in newest),
        ]
        last = newest[0] if newest else None
        self.initial = {
            "valid_from": timezone.localdate(),
            "copy_of": last and last.pk,
            "decision": last.decision if last else RuleSet.Decision.READING,
        }
        if last is None:
            del self.fields["copy_of"]


class RuleForm(QuantityForm):
    """The parameters of one kind of rule. When valid, `declared` is the rule."""

    declared: RuleKind | None = None

    def __init__(self, *args: Any, kind: type[RuleKind], units: Units, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.kind, self.unit_choice = kind, units
        needed = {f.name for f in fields(kind) if f.default is MISSING}  # type: ignore[arg-type]
        for name, parameter in kind.parameters().items():
            self.fields[name] = _field(name, parameter, units, required=name in needed)

    def clean(self) -> dict[str, Any]:
        """Refuses what makes no rule, as the action would."""
        if not self.errors:
            try:
                self.declared = declare_rule(self.kind.kind, self.parameters(), self.unit_choice)
            except Invalid as refusal:
                field = refusal.field if refusal.field in self.fields else None
                self.add_error(field, refusal.message)
        return self.cleaned_data

    def parameters(self) -> dict[str, Any]:
        """What was given, as a rule is kept; what was left empty is left out."""
        given = {
            name: str(value.value) if isinstance(value, Typed) else value
            for name, value in self.cleaned_data.items()
        }
        return {name: value for name, value in given.items() if value not in (None, "")}


def as_typed(rule: RuleKind, units: Units) -> dict[str, Any]:
    """The rule's parameters as a person would type them."""
    values = {}
    for name, parameter in rule.parameters().items():
        value = getattr(rule, name)
        if parameter.quantity and value is not None:
            value = _exactly(value, parameter.quantity, units)
        values[name] = value
    return values


def _exactly(value: Decimal, kind: Kind, units: Units) -> str:
    """In the reader's unit, or else in one that says the very same: sending it back alters
    nothing."""
    mine = units.for_kind(kind)
    shown = [show(value, kind, unit=unit) for unit in (mine, *units_of(kind))]
    return next((one for one in shown if one.exact), shown[0]).text


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]


def _field(name: str, parameter: Parameter, units: Units, *, required: bool) -> forms.Field:
    bounds = format_bounds(parameter, units)
    asked: dict[str, Any] = {
        "label": parameter.label,
        "required": required,
        "help_text": " ".join(filter(None, (bounds and f"{_sentence(bounds)}.", parameter.help))),
        "error_messages": {"required": f"{parameter.label} is needed."},
    }
    if parameter.quantity:
        # The rule's own bounds are held by the action, which speaks in the reader's units.
        return QuantityInput(kind=parameter.quantity, limits=None, units=units, **asked)
    if parameter.sort == "whole":
        asked["error_messages"]["invalid"] = f"{parameter.label} must be a whole number."
        return forms.IntegerField(**asked)
    if parameter.sort == "yes_no":
        return forms.BooleanField(**{**asked, "required": False})
    if parameter.sort == "choice":
        choices = [(c, WORDS_OF.get((name, c), WORDS.get(c, c))) for c in parameter.choices]
        return forms.ChoiceField(**{**asked, "required": False}, choices=choices)
    if name == "measure":
        return forms.ChoiceField(choices=[(m.slug, m.name) for m in lengths()], **asked)
    return forms.CharField(max_length=parameter.longest, **asked)
