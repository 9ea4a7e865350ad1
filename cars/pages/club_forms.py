"""The forms of what a steward keeps: chassis, mounts, baselines."""

from collections.abc import Mapping
from typing import Any

from django import forms

from cars.actions.baselines import Target
from cars.entries import Key
from cars.geometry import CORNERS
from cars.mechanics import CORNER_NAMES
from cars.models import BaselineValue, Chassis, Measure
from cars.models.catalogue import Taken
from cars.queries.catalogue import Catalogue
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Limits, QuantityError, parse
from clubsetup.quantities.units import Units
from clubsetup.site.forms import QuantityForm, QuantityInput
from teams.models import Club, RaceClass, Surface

SCALARS = {
    "wheelbase_left": "Wheelbase, left",
    "wheelbase_right": "Wheelbase, right",
    "track_front": "Track, front (middles of the treads)",
    "track_rear": "Track, rear (middles of the treads)",
}
BY_CORNER = {
    "spring_y": ("Spring from the middle, left plus", Kind.LENGTH),
    "spring_rate": ("Spring rate", Kind.SPRING_RATE),
    "motion_ratio": ("Spring travel per axle travel", None),
    "thread": ("Seat travel per turn", Kind.LENGTH),
    "tyre_rate": ("Tyre rate", Kind.SPRING_RATE),
}
POINTS = ("x", "y")


def _canonical(value: Any) -> float:
    return float(getattr(value, "value", value))


class ChassisForm(QuantityForm):
    """A chassis; its geometry is given whole or not at all."""

    outcome: Any
    name = forms.CharField(max_length=60)
    note = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, chassis: Chassis | None = None, **kwargs: Any) -> None:
        units = kwargs.pop("units", None)
        super().__init__(*args, **kwargs)
        for name, label in SCALARS.items():
            self._add(name, label, Kind.LENGTH)
        for name, (label, kind) in BY_CORNER.items():
            for spot in CORNER_NAMES:
                self._add(f"{name}_{spot}", f"{label}, {spot}", kind)
        for spot in CORNER_NAMES:
            for axis in POINTS:
                self._add(f"height_{axis}_{spot}", f"Height point {axis}, {spot}", Kind.LENGTH)
        for field in self.fields.values():
            if isinstance(field, QuantityInput) and units is not None:
                field.units = units
        if chassis is not None:
            self.initial.update(name=chassis.name, note=chassis.note)
            self.initial.update(_typed(chassis.geometry))

    def _add(self, name: str, label: str, kind: Kind | None) -> None:
        self.fields[name] = (
            forms.DecimalField(label=label, required=False, min_value=0)
            if kind is None
            else QuantityInput(kind=kind, label=label, required=False)
        )

    def clean(self) -> dict[str, Any]:
        """Gathers the boxes into one geometry. Raises where only some are filled."""
        given = self.cleaned_data
        names = [name for name in self.fields if name not in ("name", "note")]
        filled = [name for name in names if given.get(name) is not None]
        kept = {"name": given.get("name"), "note": given.get("note", "")}
        if not filled:
            return {**kept, "geometry": {}}
        for name in names:
            if given.get(name) is None and name not in self.errors:
                self.add_error(name, "Fill this in too, or leave the whole geometry empty.")
        return kept if self.errors else {**kept, "geometry": _geometry(given)}


def _geometry(given: Mapping[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = {name: _canonical(given[name]) for name in SCALARS}
    for name in CORNERS:
        found[name] = [_canonical(given[f"{name}_{spot}"]) for spot in CORNER_NAMES]
    found["height_points"] = [
        [_canonical(given[f"height_{axis}_{spot}"]) for axis in POINTS] for spot in CORNER_NAMES
    ]
    return found


def _typed(geometry: Mapping[str, Any]) -> dict[str, str]:
    """A kept geometry as text for the boxes, in canonical units said aloud."""
    if not geometry:
        return {}
    found = {name: f"{geometry[name]:g} mm" for name in SCALARS}
    units = {Kind.LENGTH: " mm", Kind.SPRING_RATE: " N/mm", None: ""}
    for name, (_, kind) in BY_CORNER.items():
        for spot, value in zip(CORNER_NAMES, geometry[name], strict=True):
            found[f"{name}_{spot}"] = f"{value:g}{units[kind]}"
    for spot, point in zip(CORNER_NAMES, geometry["height_points"], strict=True):
        for axis, value in zip(POINTS, point, strict=True):
            found[f"height_{axis}_{spot}"] = f"{value:g} mm"
    return found


class MountForm(QuantityForm):
    """A place for ballast."""

    outcome: Any
    name = forms.CharField(max_length=40)
    x = QuantityInput(kind=Kind.LENGTH, label="Forward of the rear axle")
    y = QuantityInput(kind=Kind.LENGTH, label="Left of the middle", help_text="Minus is right.")
    capacity = QuantityInput(kind=Kind.MASS, label="Carries at most")


class DraftForm(forms.Form):
    """A new baseline."""

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
        self.fields["box"].choices = _box_choices(known)  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """The target as the action takes it."""
        given = self.cleaned_data
        if self.errors:
            return given
        key = Key.of(given["box"])
        measure = self.known.measures[key.measure]
        target = self._parsed("target", measure, Limits(measure.low, measure.high, measure.name))
        tolerance = self._parsed("tolerance", measure, None)
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

    def _parsed(self, name: str, measure: Measure, limits: Limits | None) -> Any:
        text = self.cleaned_data[name]
        try:
            return parse(text, Kind(measure.kind), units=self.units, limits=limits)
        except QuantityError as refusal:
            self.add_error(name, refusal.message)
            return None


def _box_choices(known: Catalogue) -> list[tuple[str, list[tuple[str, str]]]]:
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
