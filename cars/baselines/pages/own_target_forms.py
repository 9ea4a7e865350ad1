"""The form of a team's own target."""

from typing import Any

from django import forms

from cars.baselines.pages.forms import TargetForm
from cars.catalogue.keys import Key
from cars.figures.tolerances import target_limits, tolerance_limits
from teams.models import Surface

SURFACES = [("", "Both surfaces"), *Surface.choices]


class OwnTargetForm(TargetForm):
    """What the team wants of one box, and why."""

    # It is the team's own word: there is no source to name. None takes a field away.
    source = None  # type: ignore[assignment]
    source_note = None  # type: ignore[assignment]
    where = None  # type: ignore[assignment]
    surface = forms.ChoiceField(choices=SURFACES, required=False)
    reason = forms.CharField(
        max_length=200, help_text="What you saw that makes you depart from the baseline."
    )

    def clean(self) -> dict[str, Any]:
        """The target as the action takes it."""
        given = self.cleaned_data
        if self.errors:
            return given
        key = Key.of(given.pop("box"))
        measure = self.known.measures[key.measure]
        target = self._parsed("target", measure, target_limits(measure))
        tolerance = self._parsed("tolerance", measure, tolerance_limits(measure))
        if target is None or tolerance is None:
            return given
        own = {"measure": measure, "spot": key.spot, "target": target, "tolerance": tolerance}
        return {**given, **own}
