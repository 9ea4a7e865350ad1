"""Forms of clubs, teams and drivers."""

from typing import Any

from django import forms
from django.utils import timezone

from clubsetup.access.models import User
from clubsetup.clock.zones import zones_by_area
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.forms import QuantityForm, QuantityInput
from teams.models import Club, ClubRole, Surface, TeamRole, Track
from teams.queries.places import shape_to_edit

ROLES = {
    ClubRole.STEWARD: "Steward: keeps tracks, classes, baselines, events and members",
    ClubRole.OFFICIAL: "Official: weighs and inspects cars at the club's events",
    ClubRole.COACH: "Coach: sees the cars of the teams that let them",
    TeamRole.CHIEF: "Chief: leads the team, invites and links coaches",
    TeamRole.CREW: "Crew: works on the cars",
    TeamRole.GUEST: "Guest: reads the sheets",
}


class InviteForm(forms.Form):
    role = forms.ChoiceField(label="They come as", widget=forms.RadioSelect)
    note = forms.CharField(
        max_length=80, required=False, label="Note", help_text="For you: who is it for?"
    )

    def __init__(self, *args: Any, roles: list[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        role = self.fields["role"]
        assert isinstance(role, forms.ChoiceField)  # noqa: S101 (declared above)
        role.choices = [(r, ROLES[r]) for r in roles]  # type: ignore[index]
        role.initial = roles[-1] if len(roles) > 1 else roles[0]


class TeamForm(forms.Form):
    name = forms.CharField(max_length=80, label="Name of the team")


class RaceClassForm(forms.Form):
    name = forms.CharField(max_length=60, label="Name of the class")


class TrackForm(QuantityForm):
    name = forms.CharField(max_length=80, label="Name of the track")
    surface = forms.ChoiceField(
        label="Surface", choices=Surface.choices, widget=forms.RadioSelect, initial=Surface.PAVED
    )
    corner_radius = QuantityInput(
        kind=Kind.LENGTH,
        required=False,
        label="Corner radius",
        help_text="Of the line driven through the corners, as in 30 ft or 9 m.",
        limits=bounds.CORNER_RADIUS,
    )
    lap_length = QuantityInput(
        kind=Kind.LENGTH,
        required=False,
        label="Length of a lap",
        help_text="As in 1/20 mi, 264 ft or 80 m.",
        limits=bounds.LAP,
    )
    banking = QuantityInput(
        kind=Kind.ANGLE,
        required=False,
        label="Banking",
        help_text="In the middle of the corner, as in 4°.",
        limits=bounds.BANKING,
    )

    def __init__(self, *args: Any, track: Track | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if track is not None:
            shape = shape_to_edit(track, self.fields["lap_length"].units)  # type: ignore[attr-defined]
            self.initial = {"name": track.name, "surface": track.surface, **shape}


class CoachForm(forms.Form):
    """Which coach is let in, and how far."""

    coach = forms.ModelChoiceField(queryset=User.objects.none(), label="Coach", empty_label=None)
    may_write = forms.BooleanField(
        required=False, label="May take readings too", help_text="Else the coach only reads."
    )
    may_see_codes = forms.BooleanField(required=False, label="May see our part codes")

    def __init__(self, *args: Any, coaches: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["coach"]
        assert isinstance(field, forms.ModelChoiceField)  # noqa: S101 (declared above)
        field.queryset = coaches


class CoachLinkForm(forms.Form):
    """How far a linked coach is let in."""

    may_write = forms.BooleanField(required=False, label="May take readings too")
    may_see_codes = forms.BooleanField(required=False, label="May see our part codes")


class RoleForm(forms.Form):
    """What a member is to the team."""

    role = forms.ChoiceField(
        label="Role", choices=[(r, ROLES[r]) for r in TeamRole], widget=forms.RadioSelect
    )


class IdleForm(forms.Form):
    """How long an official's device may rest."""

    minutes = forms.IntegerField(
        required=False,
        label="Minutes without a tap",
        help_text="Then the device asks for the password again. Empty: it never does.",
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["minutes"] = club.official_idle_minutes


class SecondFactorForm(forms.Form):
    """Whether the club asks for a second factor."""

    asked = forms.BooleanField(
        required=False,
        label="Stewards and officials must have a second factor",
        help_text="A one-time code from an app, a passkey or a security key. Whoever has none is "
        "asked to set one up; until then they are no steward and no official here.",
    )

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["asked"] = club.asks_second_factor


class TimeZoneForm(forms.Form):
    """The club's wall clock."""

    time_zone = forms.ChoiceField(
        label="Time zone",
        help_text="Times on pages and prints, and what counts as today, are those of this place.",
    )

    def __init__(self, *args: Any, club: Club, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        box: Any = self.fields["time_zone"]
        box.choices = zones_by_area(timezone.now(), club.time_zone)
        self.initial["time_zone"] = club.time_zone


class DriverForm(forms.Form):
    """A driver's name."""

    display_name = forms.CharField(
        max_length=40,
        label="Name on the lap board",
        help_text="First name or nickname. No surname is needed here.",
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


def _date_input() -> forms.DateInput:
    return forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class BirthDateForm(forms.Form):
    """A driver's birth date."""

    birth_date = forms.DateField(label="Birth date", widget=_date_input())


class WeightForm(QuantityForm):
    """One line of the weight log."""

    mass = QuantityInput(
        kind=Kind.MASS,
        label="Weight, dressed to race",
        help_text="With helmet, suit and gloves, as in 88.5 lb or 40.2 kg.",
        limits=bounds.DRIVER,
    )
    weighed_on = forms.DateField(label="Weighed on", widget=_date_input())

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["weighed_on"].initial = timezone.localdate
