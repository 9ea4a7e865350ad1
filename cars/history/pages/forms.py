"""The forms of advice."""

from typing import Any

from django import forms

from cars.baselines.pages.forms import box_choices
from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.figures.tolerances import target_limits
from cars.history.actions.advice import LONGEST_ADVICE
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityError, parse
from clubsetup.quantities.units import Units


class AdviceForm(forms.Form):
    """What a coach says, of which box, and the figure wanted there."""

    outcome: Any
    text = forms.CharField(
        label="What should they look at or change?",
        max_length=LONGEST_ADVICE,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    box = forms.ChoiceField(label="About", required=False)
    wanted = forms.CharField(
        label="Figure you would like there",
        max_length=40,
        required=False,
        help_text="With it the readings taken later say whether it was followed.",
    )

    def __init__(self, *args: Any, known: Catalogue, units: Units, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.known, self.units = known, units
        choices = [("", "The whole car"), *box_choices(known)]
        self.fields["box"].choices = choices  # type: ignore[attr-defined]

    def clean(self) -> dict[str, Any]:
        """The advice as the action takes it."""
        given = self.cleaned_data
        if self.errors:
            return given
        text, box = given["text"], given["box"]
        if not box:
            if given["wanted"]:
                self.add_error("box", "Say of which measure this is the figure.")
            return {"text": text}
        key = Key.of(box)
        measure = self.known.measures[key.measure]
        wanted = None
        if given["wanted"]:
            limits, kind = target_limits(measure), Kind(measure.kind)
            try:
                wanted = parse(given["wanted"], kind, units=self.units, limits=limits)
            except QuantityError as refusal:
                self.add_error("wanted", refusal.message)
        return {"text": text, "measure": measure, "spot": key.spot, "wanted": wanted}


class ReplyForm(forms.Form):
    """A word on advice."""

    outcome: Any
    text = forms.CharField(
        label="Answer",
        max_length=LONGEST_ADVICE,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
