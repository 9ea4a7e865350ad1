"""The forms of a part's life and of limits."""

from typing import Any

from django import forms

from cars.models import Part, PartLimit


class StartForm(forms.Form):
    """What a part came with."""

    outcome: Any
    nights = forms.IntegerField(required=False, min_value=0, label="Nights, or days, it ran on")
    runs = forms.IntegerField(required=False, min_value=0)
    laps = forms.IntegerField(required=False, min_value=0)
    hours = forms.DecimalField(required=False, min_value=0, decimal_places=2, max_digits=8)


class PartLimitForm(forms.Form):
    """So many of what."""

    outcome: Any
    most = forms.DecimalField(label="So many", decimal_places=2, max_digits=8)
    per = forms.ChoiceField(
        label="of these",
        choices=PartLimit.Per.choices,
        help_text="Nights are days on which it ran. It is told when four fifths are used.",
    )


class LimitForm(PartLimitForm):
    """For every part of a sort."""

    sort = forms.ChoiceField(label="For every", choices=Part.Sort.choices)
    field_order = ("sort", "most", "per")
