"""The forms of rods and corners."""

from typing import Literal

from django import forms

from cars.mechanics.rods import Rod
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from clubsetup.site.forms import QuantityForm, QuantityInput
from teams.models import Track

WHERE = [("ahead", "Ahead of the axle"), ("behind", "Behind the axle")]
HALF, QUARTER = 0.5, 0.25


class RodForm(QuantityForm):
    """How the rear radius rods are made."""

    threads = forms.DecimalField(
        label="Threads per inch", min_value=4, max_value=80, initial=24, help_text="Count them."
    )
    both_ends = forms.BooleanField(
        label="Both ends threaded, one left-handed", required=False, initial=True
    )
    upper = QuantityInput(kind=Kind.LENGTH, label="Upper pin above the middle of the axle")
    lower = QuantityInput(kind=Kind.LENGTH, label="Lower pin below the middle of the axle")
    frame_is = forms.ChoiceField(label="Rods go to the frame", choices=WHERE, required=False)
    angle_upper = QuantityInput(
        kind=Kind.ANGLE,
        label="Upper rod rises towards the frame by",
        required=False,
        help_text="An angle, as in 2.5°. Empty: level. Minus where it falls.",
    )
    angle_lower = QuantityInput(
        kind=Kind.ANGLE, label="Lower rod rises towards the frame by", required=False
    )

    @property
    def rods(self) -> tuple[Rod, Rod, float]:
        """Upper rod, lower rod, and the step they can be turned by.

        One threaded end comes off its pin and goes back in half turns; with both ends threaded a
        quarter is as fine as people turn (common practice, no source). Raises BadInput.
        """
        given = self.cleaned_data
        both = bool(given["both_ends"])
        where: Literal["ahead", "behind"] = "behind" if given["frame_is"] == "behind" else "ahead"
        per_inch = float(given["threads"])
        upper, lower = (
            Rod(per_inch, height, both_ends=both, angle=_value(given[angle]), frame_is=where)
            for height, angle in (
                (_value(given["upper"]), "angle_upper"),
                (-_value(given["lower"]), "angle_lower"),
            )
        )
        return upper, lower, QUARTER if both else HALF


class CornerForm(QuantityForm):
    """The corner and the steering."""

    radius = QuantityInput(
        kind=Kind.LENGTH,
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


def radius_text(track: Track | None, units: Units) -> str:
    """The track's corner as people write it; empty where it has none."""
    if track is None or track.corner_radius is None:
        return ""
    unit = "ft" if units.length == "in" else "m"
    return show(track.corner_radius, Kind.LENGTH, unit=unit, style="decimal").text


def _value(typed: Typed | None) -> float:
    return float(typed.value) if typed else 0.0
