"""Forms of events, entries and scales."""

from typing import Any
from uuid import UUID

from django import forms

from cars.models import Car
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.forms import QuantityForm, QuantityInput
from events.models import Entry, Event, EventClass
from teams.models import Club, Driver, RaceClass, Team, Track


class DateInput(forms.DateInput):
    """The browser's own date box, which takes the date in one form only."""

    input_type = "date"

    def __init__(self) -> None:
        super().__init__(format="%Y-%m-%d")


class EventForm(forms.Form):
    name = forms.CharField(max_length=80, label="Name of the event")
    track = forms.ModelChoiceField(
        Track.objects.none(),
        label="Track",
        empty_label="Choose",
        help_text="A track that is not here yet is added on the club's page first.",
    )
    starts_on = forms.DateField(label="First day", widget=DateInput())
    ends_on = forms.DateField(label="Last day", widget=DateInput())

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _choose(self, "track", Track.objects.filter(club=club))


class EventClassForm(forms.Form):
    race_class = forms.ModelChoiceField(
        RaceClass.objects.none(), label="Class", empty_label="Choose"
    )

    def __init__(self, *args: Any, event: Event, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        there = event.classes.values("race_class")
        free = RaceClass.objects.filter(club_id=event.club_id).exclude(pk__in=there)
        _choose(self, "race_class", free)


class EnterForm(forms.Form):
    """A car and driver of the team, for a class of the event."""

    event_class = forms.ModelChoiceField(
        EventClass.objects.none(), label="Class", empty_label="Choose"
    )
    car = forms.ModelChoiceField(Car.objects.none(), label="Car", empty_label="Choose")
    driver = forms.ModelChoiceField(Driver.objects.none(), label="Driver", empty_label="Choose")
    number = forms.CharField(
        max_length=6, required=False, label="Number", help_text="Left empty: the car's own."
    )

    def __init__(self, *args: Any, event: Event, team: Team, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _choose(self, "event_class", event.classes.select_related("race_class"))
        _choose(self, "car", Car.objects.filter(team=team))
        _choose(self, "driver", Driver.objects.filter(team=team))


class NumberForm(forms.Form):
    """The number of a car that stands at the scales without an entry."""

    car_number = forms.CharField(
        max_length=6,
        label="Number on the car",
        widget=forms.TextInput(attrs={"class": "number", "autofocus": True, "autocomplete": "off"}),
    )


class ByHandForm(forms.Form):
    """Which of the cars with that number."""

    car_number = forms.CharField(widget=forms.HiddenInput)
    event_class = forms.ModelChoiceField(
        EventClass.objects.none(), label="Class", empty_label="Choose"
    )
    car_id = forms.TypedChoiceField(label="Team", coerce=UUID, widget=forms.RadioSelect)

    def __init__(
        self, *args: Any, event: Event, choices: list[tuple[str, str]], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        _choose(self, "event_class", event.classes.select_related("race_class"))
        field = self.fields["car_id"]
        assert isinstance(field, forms.ChoiceField)  # noqa: S101 (declared above)
        field.choices = choices


class ConfirmForm(forms.Form):
    """Who drives the car that was entered by hand."""

    driver = forms.ModelChoiceField(Driver.objects.none(), label="Driver", empty_label="Choose")

    def __init__(self, *args: Any, entry: Entry, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        _choose(self, "driver", Driver.objects.filter(team=entry.team_id))


class RenumberForm(forms.Form):
    """Another number for an entry."""

    number = forms.CharField(max_length=6, label="Number")


class ScaleSetForm(QuantityForm):
    name = forms.CharField(max_length=40, label="Name of the scales")
    pads = forms.TypedChoiceField(
        label="They are",
        choices=[(4, "Four pads"), (1, "One platform")],
        coerce=int,
        initial=4,
        widget=forms.RadioSelect,
    )
    division = QuantityInput(
        kind=Kind.MASS,
        limits=bounds.DIVISION,
        label="The display of one steps by",
        help_text="As in 0.2 lb or 0.1 kg. The uncertainty of every weighing follows from it.",
    )


def _choose(form: forms.Form, name: str, among: Any) -> None:
    """Sets what a choice is among; with a single one it is chosen already."""
    field = form.fields[name]
    assert isinstance(field, forms.ModelChoiceField)  # noqa: S101 (declared in each form)
    field.queryset = among
    choices = list(among[:2])
    if len(choices) == 1:
        field.initial, field.empty_label = choices[0].pk, None
