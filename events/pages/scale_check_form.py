"""What an official fills in when the scales are checked."""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from django import forms

from clubsetup.offline.forms import SentOnce
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityLimits, Typed
from clubsetup.site.forms import QuantityForm, QuantityInput
from events.actions.scale_checks import LoadRead
from events.models import ScaleCheck, ScaleSet
from events.pages.desk_forms import YesNo
from events.queries.scales import pads_of


class PadBoxes(NamedTuple):
    name: str
    reference: forms.BoundField
    indicated: forms.BoundField
    added: forms.BoundField


def _box(label: str, limits: QuantityLimits, *, required: bool, initial: str = "") -> QuantityInput:
    look = {"class": "number", "inputmode": "decimal"}
    widget = forms.TextInput(attrs=look)
    return QuantityInput(
        kind=Kind.MASS,
        limits=limits,
        label=label,
        required=required,
        initial=initial,
        widget=widget,
    )


class ScaleCheckForm(SentOnce, QuantityForm):
    """One reference mass on every pad, and whether the pads stand level."""

    pads_level = YesNo("The pads stand level, and level with each other")
    level_note = forms.CharField(
        max_length=60,
        required=False,
        label="How that was seen",
        help_text="Such as: water level and straight edge, within 1/16 in.",
    )

    def __init__(
        self, *args: Any, scale_set: ScaleSet, before: ScaleCheck | None, **kwargs: Any
    ) -> None:
        """`before`: the check before this one; most likely the same masses are laid on."""
        units = kwargs.pop("units", None)
        super().__init__(*args, **kwargs)
        self.pad_names = pads_of(scale_set)
        masses = _masses(before)
        for pad in self.pad_names:
            at = "" if len(self.pad_names) == 1 else f" on {pad}"
            self.fields[f"{pad}_reference"] = _box(
                f"Reference mass{at}", bounds.REFERENCE, required=True, initial=masses.get(pad, "")
            )
            self.fields[f"{pad}_indicated"] = _box(f"Display shows{at}", bounds.PAD, required=True)
            self.fields[f"{pad}_added"] = _box(f"Extra mass{at}", bounds.EXTRA, required=False)
        for field in self.fields.values():
            if units is not None and isinstance(field, QuantityInput):
                field.units = units

    @property
    def pads(self) -> Iterator[PadBoxes]:
        for pad in self.pad_names:
            boxes = (self[f"{pad}_{name}"] for name in ("reference", "indicated", "added"))
            yield PadBoxes("Platform" if len(self.pad_names) == 1 else pad, *boxes)

    def values(self) -> dict[str, Any]:
        """What the action takes."""
        given = self.cleaned_data
        return {
            "loads": [_load(pad, given) for pad in self.pad_names],
            "pads_level": given["pads_level"],
            "level_note": given["level_note"],
            "check_id": self.sent_id(),
        }


def _load(pad: str, given: Mapping[str, Typed]) -> LoadRead:
    return LoadRead(
        pad=pad,
        reference=given[f"{pad}_reference"],
        indicated=given[f"{pad}_indicated"],
        added=given[f"{pad}_added"],
    )


def _masses(before: ScaleCheck | None) -> dict[str, str]:
    return {one["pad"]: one["typed"]["reference"] for one in before.loads} if before else {}
