"""The forms of sheets."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django import forms
from django.db.models import Q
from django.utils import timezone

from cars.catalogue.adjusters import ADJUSTERS
from cars.models import Baseline, Car, Sheet, Spot
from cars.sheets.queries.sheets import sheets_to_follow
from clubsetup.access.ids import id_or_none
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityError, parse
from clubsetup.quantities.units import Units
from clubsetup.site.forms import QuantityForm, QuantityInput
from teams.models import Driver, Surface, Track

SURFACES = [("", "As the track or baseline"), *Surface.choices]


class DayInput(forms.DateInput):
    """The browser's own calendar."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class _SheetForm(QuantityForm):
    """What stands at the head of every sheet."""

    outcome: Any
    made_on = forms.DateField(label="Day", widget=DayInput())
    driver = forms.ModelChoiceField(Driver.objects.none(), required=False, empty_label="Nobody yet")
    track = forms.ModelChoiceField(Track.objects.none(), required=False, empty_label="None")
    surface = forms.ChoiceField(choices=SURFACES, required=False)
    baseline = forms.ModelChoiceField(
        Baseline.objects.none(),
        required=False,
        empty_label="The one in force for the car",
        help_text="What the figures are compared with.",
    )
    fuel = QuantityInput(
        kind=Kind.VOLUME,
        limits=bounds.FUEL,
        required=False,
        label="Fuel on board",
        help_text="As in 1/2 gal or 2 L.",
    )
    note = forms.CharField(required=False, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, *args: Any, car: Car, units: Units, **kwargs: Any) -> None:
        super().__init__(*args, units=units, **kwargs)
        in_force = Baseline.objects.filter(chassis_id=car.chassis_id, state="published")
        self._choose("driver", Driver.objects.filter(team_id=car.team_id))
        self._choose("track", Track.objects.filter(club_id=car.chassis.club_id))
        self._choose("baseline", in_force.select_related("chassis"))

    def _choose(self, name: str, rows: Any) -> None:
        self.fields[name].queryset = rows  # type: ignore[attr-defined]  # a ModelChoiceField


class SearchedSelect(forms.Select):
    """A choice of a few among many, with a box to search the others by."""

    template_name = "cars/sheets/searched_select.html"
    find = ""
    has_found = True

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        """With what was searched for, and whether anything fits it."""
        context = super().get_context(name, value, attrs)
        return {**context, "find": self.find, "has_found": self.has_found}


class OpenForm(_SheetForm):
    """A new sheet. Of earlier ones the newest are offered, or those that `find` names.

    `typed` is what stood in the form while somebody searched: it is shown again, and not yet held
    against anything.
    """

    role = forms.ChoiceField(
        label="What is it?", choices=Sheet.Role.choices, widget=forms.RadioSelect, initial="found"
    )
    based_on = forms.ModelChoiceField(
        Sheet.objects.none(),
        required=False,
        label="After sheet",
        empty_label="None",
        widget=SearchedSelect,
        help_text="Its figures are shown beside the new ones; driver, track and baseline follow.",
    )
    with_readings = forms.BooleanField(
        required=False, label="Start with a copy of that sheet's readings"
    )
    field_order = ("role", "made_on", "based_on", "with_readings", "driver", "track", "surface")

    def __init__(
        self,
        *args: Any,
        car: Car,
        units: Units,
        after: str = "",
        find: str = "",
        typed: Mapping[str, str] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, car=car, units=units, **kwargs)
        self.initial.update(made_on=timezone.localdate(), based_on=after)
        if after:
            self.initial["role"] = Sheet.Role.SET
        self.initial.update(typed or {})
        self._choose("based_on", Sheet.objects.current().filter(car=car))
        based_on = self.fields["based_on"]
        offered = sheets_to_follow(car, find, id_or_none(self["based_on"].value()))
        based_on.widget.find = find  # a SearchedSelect
        based_on.widget.has_found = bool(offered.found) or not find
        based_on.choices = [  # type: ignore[attr-defined]  # a ModelChoiceField
            ("", "None"),
            *((sheet.pk, _named(sheet)) for sheet in (*offered.found, *offered.chosen)),
        ]


def _named(sheet: Sheet) -> str:
    """'As found 5 Nov 2026 · Harrow Park · Pip'."""
    return " · ".join(str(part) for part in (sheet, sheet.track, sheet.driver) if part)


class HeadForm(_SheetForm):
    """The head of an open sheet."""

    def __init__(self, *args: Any, sheet: Sheet, units: Units, **kwargs: Any) -> None:
        super().__init__(*args, car=sheet.car, units=units, **kwargs)
        names = ("made_on", "driver", "track", "surface", "baseline", "note")
        self.initial.update({name: getattr(sheet, name) for name in names})
        self.initial["fuel"] = sheet.fuel_typed
        # A sheet may stay with a baseline that has been retired since.
        choosable = Q(chassis_id=sheet.car.chassis_id, state="published") | Q(pk=sheet.baseline_id)
        self._choose("baseline", Baseline.objects.filter(choosable).select_related("chassis"))


class CorrectForm(forms.Form):
    """Why a closed sheet is corrected."""

    outcome: Any
    reason = forms.CharField(
        max_length=200,
        label="Why?",
        help_text="As in: right rear was read off the wrong line of the tape.",
    )


class CommentForm(forms.Form):
    text = forms.CharField(label="Comment", widget=forms.Textarea(attrs={"rows": 3}))


WHAT = [(adjuster.slug, adjuster.name.capitalize()) for adjuster in ADJUSTERS.values()]
CHANGE_UNITS = [("turn", "turns"), ("in", "in"), ("mm", "mm"), ("psi", "psi"), ("deg", "degrees")]
CHANGE_UNITS += [
    ("click", "clicks"),
    ("lb", "lb"),
    ("kg", "kg"),
    ("tooth", "teeth"),
    ("lb/in", "lb/in"),
    ("N/mm", "N/mm"),
    ("hole", "holes"),
    ("1", "pieces"),
]


class ChangeForm(forms.Form):
    """Something turned, moved or swapped."""

    outcome: Any
    adjuster = forms.ChoiceField(label="What", choices=WHAT)
    spot = forms.ChoiceField(label="Where", choices=Spot.choices)
    amount = forms.CharField(
        label="How much", max_length=12, help_text="Plus is longer, higher, more: 1/2, -1 1/4, 2."
    )
    unit = forms.ChoiceField(choices=CHANGE_UNITS)

    def clean_amount(self) -> Decimal:
        """A whole number, a decimal or a fraction, with its sign."""
        return amount_of(self.cleaned_data["amount"])


def amount_of(text: str) -> Decimal:
    """The amount of a change. Raises ValidationError."""
    try:
        return parse(text, Kind.TURNS).value
    except QuantityError as refusal:
        raise forms.ValidationError("Write it as 1/2, -1 1/4 or 2.") from refusal
