"""The forms of a bench: starting it, and noting a change in a step."""

from typing import Any

from django import forms
from django.utils import timezone

from cars.catalogue.adjusters import adjusters_in
from cars.models import Car, Sheet, Step
from cars.sheets.pages.forms import WHAT, ChangeForm, DayInput
from cars.sheets.presenters.target_sources import choice_name
from cars.sheets.queries.targets import TargetSource
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.site.forms import QuantityForm, QuantityInput
from teams.models import Driver, Surface, Track

ROLES = [
    (Sheet.Role.FOUND, "As found, before anything is touched"),
    (Sheet.Role.SET, "As set, when it is done"),
]
SURFACES = [("", "As the track or the target"), *Surface.choices]


class StartForm(QuantityForm):
    """A new bench."""

    outcome: Any
    role = forms.ChoiceField(
        label="The car is", choices=ROLES, widget=forms.RadioSelect, initial=Sheet.Role.FOUND
    )
    targets = forms.ChoiceField(
        label="Targets",
        widget=forms.RadioSelect,
        required=False,
        help_text="The maker's sheet comes first, the club's experience second, yours third.",
    )
    track = forms.ModelChoiceField(Track.objects.none(), required=False, empty_label="None")
    surface = forms.ChoiceField(choices=SURFACES, required=False)
    driver = forms.ModelChoiceField(Driver.objects.none(), required=False, empty_label="Nobody yet")
    made_on = forms.DateField(label="Day", widget=DayInput())
    fuel = QuantityInput(
        kind=Kind.VOLUME,
        limits=bounds.FUEL,
        required=False,
        label="Fuel on board",
        help_text="As in 1/2 gal or 2 L.",
    )

    def __init__(
        self, *args: Any, car: Car, units: Units, sources: list[TargetSource], **kwargs: Any
    ) -> None:
        super().__init__(*args, units=units, **kwargs)
        self._sources = {source.value: source for source in sources}
        choices = [(source.value, choice_name(source)) for source in sources] or [("", "None yet")]
        self.fields["targets"].choices = choices  # type: ignore[attr-defined]  # a ChoiceField
        self._choose("track", Track.objects.filter(club_id=car.chassis.club_id))
        self._choose("driver", Driver.objects.filter(team_id=car.team_id))
        first = sources[0].value if sources else ""
        last = Sheet.objects.filter(car=car).order_by("-made_on", "-created_at").first()
        driver = last.driver_id if last else None
        self.initial.update(made_on=timezone.localdate(), targets=first, driver=driver)

    def _choose(self, name: str, rows: Any) -> None:
        self.fields[name].queryset = rows  # type: ignore[attr-defined]  # a ModelChoiceField

    def clean(self) -> dict[str, Any]:
        """The source as what it is: a baseline, or a sheet with the track it was set at."""
        cleaned = super().clean() or {}
        source = self._sources.get(cleaned.pop("targets", ""))
        cleaned["baseline"] = source.baseline if source else None
        cleaned["target"] = target = source.sheet if source else None
        cleaned["own"] = bool(source and source.own)
        if target is not None and not cleaned.get("track"):
            cleaned["track"] = target.track
        track, baseline = cleaned.get("track"), cleaned["baseline"]
        if not cleaned.get("surface") and baseline and not track:
            cleaned["surface"] = baseline.surface
        return cleaned


class StepChangeForm(ChangeForm):
    """Something turned, moved or swapped in one step."""

    outcome: Any

    def __init__(self, *args: Any, step: Step, **kwargs: Any) -> None:
        kwargs.setdefault("prefix", "change")
        super().__init__(*args, **kwargs)
        own = {adjuster.slug for adjuster in adjusters_in(step.pk)}
        here = [pair for pair in WHAT if pair[0] in own]
        self.fields["adjuster"].choices = here  # type: ignore[attr-defined]  # a ChoiceField
