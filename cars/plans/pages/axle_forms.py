"""The forms of rods and corners."""

from collections.abc import Iterable

from django import forms

from cars.mechanics.rods import Rod
from cars.plans.actions.axles import RodTurn
from cars.plans.queries.rods import rods_of
from clubsetup.access.errors import Invalid
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from clubsetup.site.forms import QuantityForm, QuantityInput
from clubsetup.site.readable_text import plain_decimal
from teams.models import Track

WHERE = [("ahead", "Ahead of the axle"), ("behind", "Behind the axle")]


class RodForm(QuantityForm):
    """How the rear radius rods are made."""

    threads = forms.DecimalField(
        label="Threads per inch", min_value=4, max_value=80, initial=24, help_text="Count them."
    )
    both_ends = forms.BooleanField(
        label="Both ends threaded, one left-handed", required=False, initial=True
    )
    upper = QuantityInput(
        kind=Kind.LENGTH, limits=bounds.ROD_PIN, label="Upper pin above the middle of the axle"
    )
    lower = QuantityInput(
        kind=Kind.LENGTH, limits=bounds.ROD_PIN, label="Lower pin below the middle of the axle"
    )
    frame_is = forms.ChoiceField(label="Rods go to the frame", choices=WHERE, required=False)
    angle_upper = QuantityInput(
        kind=Kind.ANGLE,
        limits=bounds.ROD_ANGLE,
        label="Upper rod rises towards the frame by",
        required=False,
        help_text="An angle, as in 2.5°. Empty: level. Minus where it falls.",
    )
    angle_lower = QuantityInput(
        kind=Kind.ANGLE,
        limits=bounds.ROD_ANGLE,
        label="Lower rod rises towards the frame by",
        required=False,
    )

    @property
    def rods(self) -> tuple[Rod, Rod, float]:
        """Upper rod, lower rod, and the step they can be turned by. Raises BadInput."""
        given = self.cleaned_data
        return rods_of(
            float(given["threads"]),
            _value(given["upper"]),
            _value(given["lower"]),
            both_ends=bool(given["both_ends"]),
            behind=given["frame_is"] == "behind",
            angle_upper=_value(given["angle_upper"]),
            angle_lower=_value(given["angle_lower"]),
        )


class CornerForm(QuantityForm):
    radius = QuantityInput(
        kind=Kind.LENGTH,
        limits=bounds.CORNER_RADIUS,
        label="Corner radius, where the car runs",
        help_text="With its unit, as in 48 ft or 14.6 m.",
    )
    ratio = forms.DecimalField(
        label="Steering ratio",
        required=False,
        min_value=0.2,
        max_value=30,
        help_text="Degrees at the steering wheel for one degree at the road wheels; needed for "
        "the hands.",
    )

    @property
    def answer(self) -> tuple[float, float | None]:
        """Radius in mm, and the ratio where it is given."""
        given = self.cleaned_data
        ratio = given["ratio"]
        return _value(given["radius"]), None if ratio is None else float(ratio)


def sent_rods(sent: Iterable[str]) -> list[RodTurn]:
    """The turns as the page of rods sends them: 'left:upper:0.75'. Raises Invalid."""
    rods = []
    for text in sent:
        side, _, rest = text.partition(":")
        rod, _, turns = rest.partition(":")
        number = plain_decimal(turns)
        if number is None:
            raise Invalid("turns", "Say which rods were turned, and by how much.")
        rods.append(RodTurn(side, rod, number))
    return rods


def radius_text(track: Track | None, units: Units) -> str:
    """The track's corner as people write it; empty where it has none."""
    if track is None or track.corner_radius is None:
        return ""
    unit = "ft" if units.length == "in" else "m"
    return show(track.corner_radius, Kind.LENGTH, unit=unit, style="decimal").text


def _value(typed: Typed | None) -> float:
    return float(typed.value) if typed else 0.0
