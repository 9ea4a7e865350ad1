"""Forms of one's own account."""

from typing import Any

from allauth.account.utils import filter_users_by_email
from django import forms
from django.contrib.auth.password_validation import validate_password

from clubsetup.access.models import ApiToken, ColourScheme, User
from clubsetup.access.strength import HELP
from clubsetup.access.viewer import sign_in_address


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


class ColourSchemeForm(forms.Form):
    """Light, dark, or as the device says."""

    colour_scheme = forms.ChoiceField(
        label="Pages are", choices=ColourScheme.choices, required=False, widget=forms.RadioSelect
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["colour_scheme"].initial = user.colour_scheme


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


class ByCodeForm(forms.Form):
    """A new password by a code. Wrong codes count as wrong passwords do."""

    email = forms.EmailField(
        label="Your email address", widget=forms.EmailInput(attrs={"autocomplete": "email"})
    )
    code = forms.CharField(
        max_length=40,
        label="The code",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )
    password = forms.CharField(
        label="A new password",
        max_length=128,
        strip=False,
        help_text=HELP,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean(self) -> dict[str, Any]:
        """Whose address it is stands in `user`, for nobody else to read."""
        given = super().clean() or {}
        email = given.get("email", "")
        self.user = self._whose(email) if email else None
        if password := given.get("password"):
            try:
                # Not by what is known of the person: it would say that there is one.
                validate_password(password, User(email=email))
            except forms.ValidationError as refused:
                self.add_error("password", refused)
        return given

    def _whose(self, email: str) -> User | None:
        sign_in_address(email)
        held: list[User] = filter_users_by_email(email, is_active=True)
        return held[0] if held else None


class EndSignInsForm(forms.Form):
    """What else ends with the sign-ins on other devices."""

    tokens = forms.BooleanField(required=False, label="End my tokens too")
