"""A family's look ahead: would we be light, and what to add."""

from typing import Any
from uuid import UUID

from django import forms
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from cars.models import Car
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed
from clubsetup.site.forms import QuantityForm, QuantityInput
from clubsetup.site.pages import person
from events.queries.precheck import precheck, rules_for, weighed_sheet
from events.rules.light import Race

# Common practice, no source; every one of them can be written over on the page.
USUAL = {
    "laps": 20,
    "burn": "0.03 lb",
    "burn_known": 30,
    "filled": "0 lb",
    "scales_apart": "0.5 lb",
    "risk": 3,
}
PERCENT = 100.0


def _mass(label: str, help_text: str) -> QuantityInput:
    box = forms.TextInput(attrs={"class": "number", "inputmode": "decimal"})
    return QuantityInput(kind=Kind.MASS, label=label, help_text=help_text, widget=box)


class PrecheckForm(QuantityForm):
    """What happens between the team's scales and the official's."""

    laps = forms.IntegerField(min_value=0, max_value=500, label="Laps")
    burn = _mass("Fuel burnt a lap", "Weigh the can before and after a run to know it better.")
    burn_known = forms.IntegerField(
        min_value=0, max_value=100, label="Known to about, %", help_text="Of the fuel burnt."
    )
    filled = _mass("Fuel put in before the start", "After the car was weighed.")
    scales_apart = _mass(
        "Your scales and the club's differ by at most", "Weigh on both once to know it better."
    )
    risk = forms.IntegerField(min_value=1, max_value=50, label="Risk of light you accept, %")

    def clean(self) -> dict[str, Any]:
        """Masses are not negative."""
        given = dict(self.cleaned_data)
        for name in ("burn", "filled", "scales_apart"):
            typed = given.get(name)
            if isinstance(typed, Typed) and typed.value < 0:
                self.add_error(name, "Write zero or more.")
        return given

    def race(self) -> Race:
        """As the computation takes it, of a valid form."""
        given = self.cleaned_data
        return Race(
            laps=given["laps"],
            burn=float(given["burn"].value),
            u_burn=given["burn_known"] / PERCENT,
            filled=float(given["filled"].value),
            scales_apart=float(given["scales_apart"].value),
        )


@login_required
def pre_check(request: HttpRequest, pk: UUID) -> HttpResponse:
    """For the team and its coaches: the car is not there for anybody else."""
    car = get_object_or_404(Car.objects.select_related("team__club", "race_class"), pk=pk)
    user = person(request)
    rule_set, entry = rules_for(car)
    bench = weighed_sheet(car, user)
    given = {**USUAL, **{name: request.GET[name] for name in USUAL if name in request.GET}}
    form = PrecheckForm(given, units=user.units(car.team.club.units()))
    found = None
    if form.is_valid() and rule_set is not None and bench is not None:
        risk = form.cleaned_data["risk"] / PERCENT
        found = precheck(bench, rule_set, entry, form.race(), risk)
    context = {"car": car, "form": form, "found": found, "rule_set": rule_set, "bench": bench}
    return render(request, "events/precheck.html", context)
