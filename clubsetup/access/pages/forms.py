"""Forms of one's own account."""

from typing import Any

from django import forms

from clubsetup.access.models import ApiToken, User


class NameForm(forms.Form):
    """What team mates read."""

    name = forms.CharField(
        max_length=80,
        label="Your name",
        help_text="Shown to the people you work with.",
        widget=forms.TextInput(attrs={"autocomplete": "name"}),
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["name"].initial = user.name


class TokenForm(forms.Form):
    """A new personal token."""

    name = forms.CharField(max_length=60, label="What is it for?")
    scopes = forms.MultipleChoiceField(
        label="It may",
        choices=ApiToken.Scope.choices,
        widget=forms.CheckboxSelectMultiple,
        initial=[ApiToken.Scope.READ],
    )
    days = forms.TypedChoiceField(
        label="It holds for",
        choices=[(30, "30 days"), (90, "90 days"), (365, "a year")],
        coerce=int,
        initial=90,
    )
