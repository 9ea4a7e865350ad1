"""The forms of what a steward keeps: chassis, mounts, baselines."""

from typing import Any

from django import forms

from cars.baselines.actions.baselines import Target
from cars.baselines.presenters.chassis_view import FINEST
from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.figures.geometry_boxes import BOXES, GeometryBox, flat, nonsense_in, whole
from cars.figures.prediction_format import as_decimal
from cars.figures.tolerances import target_limits, tolerance_limits
from cars.models import BaselineValue, Chassis, Measure
from cars.models.catalogue import Taken
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityError, QuantityLimits, parse
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from clubsetup.site.forms import QuantityForm, QuantityInput
from teams.models import Club, RaceClass, Surface


class ChassisForm(QuantityForm):
    """A chassis; its geometry is given whole or not at all."""

    outcome: Any
    name = forms.CharField(max_length=60)
    note = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, chassis: Chassis | None = None, **kwargs: Any) -> None:
        units: Units = kwargs.pop("units", None) or Units.imperial()
        super().__init__(*args, **kwargs)
        for box in BOXES.values():
            self.fields[box.name] = _geometry_field(box, units)
        self.stored: dict[str, float] = {}
        if chassis is not None:
            self.initial.update(name=chassis.name, note=chassis.note)
            self.stored = flat(chassis.geometry) if chassis.geometry else {}
        for name, value in self.stored.items():
            self.initial[name] = _to_edit(BOXES[name], value, units)

    def clean(self) -> dict[str, Any]:
        """Gathers the boxes into one geometry. Raises where only some are filled."""
        given = self.cleaned_data
        filled = [name for name in BOXES if given.get(name) is not None]
        stored = {"name": given.get("name"), "note": given.get("note", "")}
        if not filled:
            return {**stored, "geometry": {}}
        for name in BOXES:
            if given.get(name) is None and name not in self.errors:
                self.add_error(name, "Fill this in too, or leave the whole geometry empty.")
        if self.errors:
            return stored
        figures = {name: self._figure(name) for name in BOXES}
        for nonsense in nonsense_in(figures, self._typed_units()):
            self.add_error(nonsense.box.name, nonsense.message)
        return stored if self.errors else {**stored, "geometry": whole(figures)}

    def _figure(self, name: str) -> float:
        """The figure in a box: the one that was kept, where its text was left as it stood."""
        if name in self.stored and self.data.get(self.add_prefix(name)) == self.initial[name]:
            return self.stored[name]
        typed = self.cleaned_data[name]
        return float(getattr(typed, "value", typed))

    def _typed_units(self) -> dict[Kind, str]:
        """The units to answer in: those of the first length and the first rate typed."""
        rate, length = self.cleaned_data["spring_rate_LF"], self.cleaned_data["wheelbase_left"]
        return {Kind.LENGTH: length.unit, Kind.SPRING_RATE: rate.unit}


def _geometry_field(box: GeometryBox, units: Units) -> forms.Field:
    if box.kind is None:
        low, high = box.limits.low, box.limits.high
        return forms.DecimalField(label=box.label, required=False, min_value=low, max_value=high)
    return QuantityInput(
        kind=box.kind, limits=box.limits, units=units, label=box.label, required=False
    )


def _to_edit(box: GeometryBox, value: float, units: Units) -> str:
    """A kept figure as its box says it: in the reader's unit, no longer than they would type it."""
    if box.kind is None:
        return f"{value:g}"
    unit = units.for_kind(box.kind)
    shown = show(as_decimal(value), box.kind, unit=unit, denominator=FINEST)
    places = unit_of(box.kind, unit).usual + 1
    if shown.exact and len(shown.bare.partition(".")[2]) <= places:
        return shown.text
    return show(as_decimal(value), box.kind, unit=unit, style="decimal", places=places).text


class MountForm(QuantityForm):
    """A place for ballast."""

    outcome: Any
    name = forms.CharField(max_length=40)
    x = QuantityInput(
        kind=Kind.LENGTH, limits=bounds.ALONG_THE_CAR, label="Forward of the rear axle"
    )
    y = QuantityInput(
        kind=Kind.LENGTH,
        limits=bounds.ACROSS_THE_CAR,
        label="Left of the middle",
        help_text="Minus is right.",
    )
    capacity = QuantityInput(kind=Kind.MASS, limits=bounds.CAPACITY, label="Carries at most")


class BaselineDraftForm(forms.Form):
    outcome: Any
    surface = forms.ChoiceField(choices=Surface.choices)
    race_class = forms.ModelChoiceField(
        RaceClass.objects.none(), required=False, label="Class", empty_label="All classes"
    )
    note = forms.CharField(
        required=False, label="What is new and why", widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        classes = RaceClass.objects.filter(club=club)
        self.fields["race_class"].queryset = classes  # type: ignore[attr-defined]


class TargetForm(forms.Form):
    """One target of a draft: which box, how much, how far off is still on target."""

    outcome: Any
    box = forms.ChoiceField(label="Measure")
    target = forms.CharField(max_length=40)
    tolerance = forms.CharField(max_length=40, label="Tolerance ±")
    # None is chosen beforehand: a source nobody chose is no source.
    source = forms.ChoiceField(choices=[("", "Choose"), *BaselineValue.Source.choices])
    source_note = forms.CharField(max_length=120, required=False, label="Which sheet, whose word")
    where = forms.CharField(
        max_length=200, required=False, label="Where on this chassis, if it differs"
    )

    def __init__(self, *args: Any, known: Catalogue, units: Units, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.known, self.units = known, units
        self.fields["box"].choices = box_choices(known)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """The target as the action takes it."""
        given = self.cleaned_data
        if self.errors:
            return given
        key = Key.of(given["box"])
        measure = self.known.measures[key.measure]
        target = self._parsed("target", measure, target_limits(measure))
        tolerance = self._parsed("tolerance", measure, tolerance_limits(measure))
        if target is None or tolerance is None:
            return given
        made = Target(
            measure=measure,
            spot=key.spot,
            target=target,
            tolerance=tolerance,
            source=given["source"],
            source_note=given["source_note"],
            where=given["where"],
        )
        return {"targets": [made]}

    def _parsed(self, name: str, measure: Measure, limits: QuantityLimits) -> Any:
        text = self.cleaned_data[name]
        try:
            return parse(text, Kind(measure.kind), units=self.units, limits=limits)
        except QuantityError as refusal:
            self.add_error(name, refusal.message)
            return None


def box_choices(known: Catalogue) -> list[tuple[str, list[tuple[str, str]]]]:
    groups = []
    for step in known.steps:
        boxes = [
            (str(Key(m.pk, spot)), m.name if spot == "car" else f"{m.name} {spot}")
            for m in known.of_step(step)
            if m.taken in (Taken.QUANTITY, Taken.DERIVED)
            for spot in m.spots
        ]
        if boxes:
            groups.append((f"{step.order} {step.name}", boxes))
    return groups
