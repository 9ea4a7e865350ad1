"""The forms of plans for school days."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.db.models import QuerySet

from cars.history.actions.school_days import LONGEST_DAY_NOTE, LONGEST_NAME, LONGEST_NOTE
from cars.history.presenters.school_days import AS_IT_STANDS, sheet_name
from cars.history.queries.school_days import SettingsToSendWith, drivers_of
from cars.models import Car, Outing
from cars.sheets.pages.forms import DayInput
from teams.models import Club, Driver, Track

SHEET, BASELINE = "sheet:", "baseline:"


class CarChoices(forms.ModelMultipleChoiceField):  # type: ignore[type-arg]  # not generic when run
    """Cars with their teams, to tick."""

    def label_from_instance(self, obj: Any) -> str:
        """'17 Sparrow, Ash Lane'."""
        return f"{obj}, {obj.team}"


class CarChoice(forms.ModelChoiceField):  # type: ignore[type-arg]  # not generic when run
    """A car with its team."""

    def label_from_instance(self, obj: Any) -> str:
        """'17 Sparrow, Ash Lane'."""
        return f"{obj}, {obj.team}"


class SchoolDayForm(forms.Form):
    """When, where, and a word to everybody in it."""

    outcome: Any
    name = forms.CharField(label="Name of the day", max_length=LONGEST_NAME)
    day = forms.DateField(label="Day", widget=DayInput())
    track = forms.ModelChoiceField(Track.objects.none(), required=False, empty_label="Not said")
    note = forms.CharField(
        label="A word to all",
        max_length=LONGEST_DAY_NOTE,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="When to be there, what to bring. Every family with a car in the plan reads it.",
    )

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["track"].queryset = Track.objects.filter(club=club)  # type: ignore[attr-defined]


class NewSchoolDayForm(SchoolDayForm):
    """A new day, with the cars that go out once each; more can be added afterwards."""

    cars = CarChoices(
        Car.objects.none(),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        label="Cars that go out",
        help_text="Each once, by number, set as it was last and with that driver, to begin with.",
    )

    def __init__(self, *args: Any, cars: QuerySet[Car], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["cars"].queryset = cars  # type: ignore[attr-defined]

    def clean_cars(self) -> Sequence[Car]:
        """In the order in which they are offered."""
        return list(self.cleaned_data["cars"])


class SendOutForm(forms.Form):
    """One more outing."""

    outcome: Any
    car = CarChoice(Car.objects.none(), label="Car", empty_label="Choose")

    def __init__(self, *args: Any, cars: QuerySet[Car], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["car"].queryset = cars  # type: ignore[attr-defined]


class OutingForm(forms.Form):
    """Who drives, and what the car is set to."""

    outcome: Any
    driver = forms.ModelChoiceField(
        Driver.objects.none(), required=False, empty_label="No driver named"
    )
    setting = forms.ChoiceField(label="Set to", required=False)
    note = forms.CharField(
        label="A word to who sets the car",
        max_length=LONGEST_NOTE,
        required=False,
        help_text="As in: new tyres, six laps, one change at a time.",
    )

    def __init__(
        self, *args: Any, outing: Outing, offered: SettingsToSendWith, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.fields["driver"].queryset = drivers_of(outing.team_id)  # type: ignore[attr-defined]
        self.offered = {
            **{f"{SHEET}{row.pk}": row for row in offered.sheets},
            **{f"{BASELINE}{row.pk}": row for row in offered.baselines},
        }
        self.fields["setting"].choices = [  # type: ignore[attr-defined]
            ("", AS_IT_STANDS.capitalize()),
            *((f"{SHEET}{row.pk}", _sheet(row, outing)) for row in offered.sheets),
            *((f"{BASELINE}{row.pk}", f"Baseline {row}") for row in offered.baselines),
        ]

    def clean(self) -> dict[str, Any]:
        """The outing as the action takes it."""
        given = dict(self.cleaned_data)
        chosen = given.pop("setting", "")
        if self.errors:
            return self.cleaned_data
        row = self.offered.get(chosen)
        what = "sheet" if chosen.startswith(SHEET) else "baseline"
        return {**given, what: row} if row else given


def _sheet(sheet: Any, outing: Outing) -> str:
    name = sheet_name(sheet, outing.car_id)
    return f"{name[:1].upper()}{name[1:]}"


def initial_of(outing: Outing) -> dict[str, Any]:
    """An outing as its form says it."""
    setting = ""
    if outing.sheet_id:
        setting = f"{SHEET}{outing.sheet_id}"
    elif outing.baseline_id:
        setting = f"{BASELINE}{outing.baseline_id}"
    return {"driver": outing.driver_id, "setting": setting, "note": outing.note}
