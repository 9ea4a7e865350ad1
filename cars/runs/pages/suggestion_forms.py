"""The forms of tables of suggestions."""

from decimal import Decimal
from typing import Any

from django import forms

from cars.catalogue.adjusters import ADJUSTERS
from cars.models import Feel, RunDetails, Suggestion
from cars.models.catalogue import Spot
from cars.models.suggestion import MOST_MINUTES
from cars.runs.actions.suggestions import (
    EMPTY,
    FROM_PUBLISHED,
    FROM_STARTER,
    LONGEST,
    SuggestionGiven,
)
from cars.runs.queries.suggestions import FELT
from cars.sheets.pages.forms import amount_of
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.writing import show
from teams.models import Surface

BEGIN = {
    FROM_PUBLISHED: "A copy of what is in force",
    FROM_STARTER: "The starter: the trade's common practice, no source",
    EMPTY: "Nothing: every row is added by hand",
}
WHAT = [
    (each.slug, f"{each.name[:1].upper()}{each.name[1:]} (plus: {each.more.lower()})")
    for each in ADJUSTERS.values()
    if each.units
]
UNITS = list(dict.fromkeys(unit for each in ADJUSTERS.values() for unit in each.units))
UNIT_NAMES = {"turn": "turns", "click": "clicks", "tooth": "teeth", "hole": "holes", "1": "pieces"}
UNIT_NAMES["deg"] = "degrees"


class DraftSuggestionsForm(forms.Form):
    """What the next version begins with."""

    outcome: Any
    begin = forms.ChoiceField(label="Begin with", widget=forms.RadioSelect)
    note = forms.CharField(
        required=False, label="What is new and why", widget=forms.Textarea(attrs={"rows": 2})
    )

    def __init__(self, *args: Any, is_published: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offered = [one for one in BEGIN.items() if one[0] != FROM_PUBLISHED or is_published]
        self.fields["begin"].choices = offered  # type: ignore[attr-defined]
        self.initial["begin"] = offered[0][0]


class PublishSuggestionsForm(forms.Form):
    """What a version changed."""

    outcome: Any
    note = forms.CharField(
        required=False, label="What is new and why", widget=forms.Textarea(attrs={"rows": 2})
    )


def _felt(label: str, choices: Any, empty: str) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=[("", empty), *choices.choices], required=False)


class SuggestionForm(forms.Form):
    """One row: what is felt, what to try, why."""

    outcome: Any
    balance = _felt("The car", Feel.Balance, "Whatever it does")
    place = _felt("Where in the corner", Suggestion.Place, "Anywhere")
    hands = _felt("Hands in the middle", Feel.Hands, "Wherever they are")
    steering = _felt("Steering", Feel.Steering, "However it is")
    surface = _felt("Surface", Surface, "Paved or dirt")
    surface_state = _felt("State of the track", RunDetails.SurfaceState, "Whichever")
    adjuster = forms.ChoiceField(label="What to adjust", choices=WHAT)
    spot = forms.ChoiceField(label="Where on the car", choices=Spot.choices)
    amount = forms.CharField(
        label="How much", max_length=12, help_text="With its sign: 1/2, -1/4, +1."
    )
    unit = forms.ChoiceField(choices=[(unit, UNIT_NAMES.get(unit, unit)) for unit in UNITS])
    minutes = forms.IntegerField(label="Minutes it takes", min_value=1, max_value=MOST_MINUTES)
    why = forms.CharField(
        max_length=LONGEST["why"],
        help_text="What it does to the car, in one sentence.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    caution = forms.CharField(
        max_length=LONGEST["caution"],
        required=False,
        help_text="Where the work can hurt somebody, or a rule of the class may forbid it.",
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    # None is chosen beforehand: a source nobody chose is no source.
    source = forms.ChoiceField(choices=[("", "Choose"), *Suggestion.Source.choices])
    source_note = forms.CharField(
        max_length=LONGEST["source_note"], required=False, label="Which sheet, whose word"
    )

    def clean_amount(self) -> Decimal:
        """A whole number, a decimal or a fraction, with its sign."""
        return amount_of(self.cleaned_data["amount"])

    def clean(self) -> dict[str, Any]:
        """The row as the action takes it."""
        if self.errors:
            return self.cleaned_data
        return {"given": SuggestionGiven(**self.cleaned_data)}


def initial_of(row: Suggestion) -> dict[str, Any]:
    """A row as its form says it."""
    names = (*FELT, "adjuster", "spot", "unit", "minutes", "why", "caution", "source")
    amount = show(row.amount, Kind.TURNS, unit="turn", sign=True).bare
    return {
        **{name: getattr(row, name) for name in names},
        "source_note": row.source_note,
        "amount": amount,
    }
