"""The forms of cars, parts and ballast."""

from typing import Any

from django import forms
from django.utils import timezone

from cars.models import BallastMount, Baseline, Car, Chassis, Part
from cars.sheets.pages.forms import DayInput
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.forms import QuantityForm, QuantityInput
from teams.models import RaceClass, Team


class CarForm(forms.Form):
    outcome: Any
    number = forms.CharField(max_length=6, label="Number")
    name = forms.CharField(max_length=40, required=False, label="Name or colour")
    chassis = forms.ModelChoiceField(
        Chassis.objects.none(),
        empty_label="Choose",
        help_text="The club's stewards keep the list.",
    )
    race_class = forms.ModelChoiceField(
        RaceClass.objects.none(), required=False, label="Class", empty_label="None yet"
    )
    baseline = forms.ModelChoiceField(
        Baseline.objects.none(),
        required=False,
        empty_label="None",
        help_text="Published for its chassis; new sheets are compared with it.",
    )

    def __init__(self, *args: Any, team: Team, car: Car | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices: dict[str, Any] = {
            "chassis": Chassis.objects.filter(club_id=team.club_id),
            "race_class": RaceClass.objects.filter(club_id=team.club_id),
            "baseline": Baseline.objects.filter(
                club_id=team.club_id, state="published"
            ).select_related("chassis"),
        }
        for name, rows in choices.items():
            self.fields[name].queryset = rows  # type: ignore[attr-defined]
            if car is not None:
                self.initial[name] = getattr(car, f"{name}_id")
        if car is not None:
            self.initial.update(number=car.number, name=car.name)


class AddCarForm(CarForm):
    """A car new to the team."""

    since = forms.DateField(label="In the team since", widget=DayInput(), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["since"] = timezone.localdate()


class PartForm(QuantityForm):
    """A spring, damper, tyre, chain, engine or sprocket."""

    outcome: Any
    sort = forms.ChoiceField(label="What is it?", choices=Part.Sort.choices)
    code = forms.CharField(
        max_length=40, required=False, label="Your code", help_text="Colour or paint code."
    )
    note = forms.CharField(
        required=False, label="What it stands for", widget=forms.Textarea(attrs={"rows": 2})
    )
    rate = QuantityInput(
        kind=Kind.SPRING_RATE,
        limits=bounds.SPRING_RATE,
        required=False,
        label="Rate",
        help_text="Springs only: 110 lb/in.",
    )


class CodeForm(forms.Form):
    """The team's mark on a part."""

    outcome: Any
    code = forms.CharField(max_length=40, label="Your code")
    note = forms.CharField(
        required=False, label="What it stands for", widget=forms.Textarea(attrs={"rows": 2})
    )


class _PlaceForm(QuantityForm):
    """Where a ballast piece is."""

    outcome: Any
    car = forms.ModelChoiceField(Car.objects.none(), required=False, empty_label="On the shelf")
    mount = forms.ModelChoiceField(
        BallastMount.objects.none(),
        required=False,
        empty_label="Not at a named mount",
        help_text="The mounts of the car's chassis.",
    )

    def __init__(self, *args: Any, team: Team, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        own = Car.objects.filter(team=team)
        mounts = BallastMount.objects.filter(chassis__cars__team=team).distinct()
        self.fields["car"].queryset = own  # type: ignore[attr-defined]
        self.fields["mount"].queryset = mounts  # type: ignore[attr-defined]


class PieceForm(_PlaceForm):
    """A new ballast piece."""

    label = forms.CharField(
        max_length=40, help_text="The name or car number that stands on the piece."
    )
    marked_mass = QuantityInput(
        kind=Kind.MASS,
        limits=bounds.PIECE,
        label="Marked weight",
        help_text="As stamped or painted on: 4.5 lb.",
    )
    field_order = ("label", "marked_mass", "car", "mount")


class MovePieceForm(_PlaceForm):
    """A ballast piece that is moved."""
