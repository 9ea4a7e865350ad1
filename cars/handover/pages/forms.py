"""The forms of handovers."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.http import QueryDict

from cars.handover.presenters.package import tick_words
from cars.handover.queries.ticks import Tick
from cars.models import Chassis, Handover
from clubsetup.quantities.units import Units
from teams.models import RaceClass, Team

# Years that a calendar of ours has; a form is asked before it says which there are.
FIRST_SEASON, LAST_SEASON = 1900, 9000


class HistoryForm(forms.Form):
    """Which sheets go along."""

    history = forms.ChoiceField(
        label="Which history goes along?",
        choices=Handover.History.choices,
        widget=forms.RadioSelect,
        initial=Handover.History.SET,
    )


class FoldedTicks(forms.CheckboxSelectMultiple):
    """Boxes to tick, those of one sheet or run folded under its name; what has a tick is open."""

    template_name = "cars/handover/folded_ticks.html"
    draws_its_boxes = True  # see templates/site/field.html

    def get_context(self, name: str, value: Any, attrs: dict[str, Any] | None) -> dict[str, Any]:
        """With how many boxes a fold has, and how many are ticked."""
        context = super().get_context(name, value, attrs)
        folds = [
            (of, boxes, sum(bool(box["selected"]) for box in boxes))
            for of, boxes, _ in context["widget"]["optgroups"]
        ]
        return {**context, "folds": folds}


class TickForm(forms.Form):
    """What goes along beside the figures, each read before it is ticked."""

    outcome: Any
    season = forms.TypedChoiceField(
        label="Runs to choose from",
        required=False,
        coerce=int,
        empty_value=None,
        help_text="Show it with a season, and its runs stand below to be ticked.",
    )
    ticked = forms.MultipleChoiceField(
        label="Stays unless you tick it",
        required=False,
        widget=FoldedTicks,
        help_text="Read each one. What you tick the other team reads too.",
    )

    def __init__(
        self, *args: Any, ticks: Sequence[Tick], seasons: Sequence[int], units: Units, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        groups: dict[str, list[tuple[str, str]]] = {}
        for tick in ticks:
            groups.setdefault(tick.of, []).append((tick.pk, tick_words(tick, units)))
        self.fields["ticked"].choices = list(groups.items())  # type: ignore[attr-defined]
        years = [(str(year), str(year)) for year in seasons]
        self.fields["season"].choices = [("", "None"), *years]  # type: ignore[attr-defined]
        if not seasons:
            del self.fields["season"]
        if not ticks:
            del self.fields["ticked"]


def season_of(chosen: QueryDict) -> int | None:
    """The season whose runs are to be chosen from."""
    text = chosen.get("season", "")
    return int(text) if text.isdecimal() and FIRST_SEASON <= int(text) <= LAST_SEASON else None


class CodeForm(forms.Form):
    """The code that the giver was told."""

    code = forms.CharField(
        label="Code",
        max_length=60,
        help_text="As the other team's chief gave it to you: ABCD-EFGH-JKMN-PQRS-TUVW.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )


class TakeForm(CodeForm):
    """What the car is with the team that takes it."""

    outcome: Any
    team = forms.ModelChoiceField(Team.objects.none(), label="Team", empty_label="Choose")
    number = forms.CharField(max_length=6, label="Number with you")
    name = forms.CharField(max_length=40, required=False, label="Name or colour")
    chassis = forms.ModelChoiceField(
        Chassis.objects.none(),
        required=False,
        empty_label="Make it, under the name below",
        help_text="The one of your club that this car is. Is it missing, and the car comes from "
        "another club, it is made of what goes along; your stewards can mend it.",
    )
    chassis_name = forms.CharField(
        max_length=60, required=False, label="Name of a chassis that is made"
    )
    race_class = forms.ModelChoiceField(
        RaceClass.objects.none(), required=False, label="Class", empty_label="None yet"
    )

    def __init__(self, *args: Any, teams: Sequence[Team], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        clubs = {team.club_id for team in teams}
        choices: dict[str, Any] = {
            "team": Team.objects.filter(pk__in=[team.pk for team in teams]),
            "chassis": Chassis.objects.filter(club__in=clubs),
            "race_class": RaceClass.objects.filter(club__in=clubs),
        }
        for name, rows in choices.items():
            self.fields[name].queryset = rows  # type: ignore[attr-defined]
        if len(teams) == 1:
            self.initial.setdefault("team", teams[0])
        self.fields["code"].widget = forms.HiddenInput()
