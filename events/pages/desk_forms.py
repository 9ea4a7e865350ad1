"""What an official fills in at the scales."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django import forms

from cars.models import BallastPiece, Measure
from clubsetup.access.ids import new_id
from clubsetup.offline.forms import SentOnce
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.site.forms import QuantityForm, QuantityInput
from events.actions.weighing import PADS
from events.models import BallastCheck, Entry, ScaleSet, WeighIn
from events.models.photo import MOST_PHOTOS
from events.queries.ballast import pieces_on
from events.queries.readings import allowed_places, asks_for_fuel
from events.records.pages.photo_input import HINT, KeepsNoPhoto, PhotoInput


def pad_box(label: str, **attrs: Any) -> QuantityInput:
    """A big box for one figure of the scales; Enter goes to the next."""
    box = {"class": "number", "inputmode": "decimal", "data-next": True, **attrs}
    return QuantityInput(
        kind=Kind.MASS,
        limits=bounds.PAD,
        label=label,
        required=False,
        widget=forms.TextInput(attrs=box),
    )


class WeighForm(SentOnce, QuantityForm):
    """One weighing: four pads or a total."""

    LF = pad_box("LF")
    RF = pad_box("RF")
    LR = pad_box("LR")
    RR = pad_box("RR", **{"data-send": True})
    total = QuantityInput(
        kind=Kind.MASS,
        limits=bounds.CAR,
        label="Total",
        required=False,
        widget=forms.TextInput(attrs={"class": "number", "inputmode": "decimal"}),
    )
    driver_in = forms.BooleanField(label="Driver in the car", required=False, initial=True)
    again = forms.BooleanField(
        label="Weighed again, nothing changed",
        required=False,
        help_text="Rolled off and on: counts together with the weighing before, as their mean.",
    )
    tank_empty = forms.BooleanField(label="Tank empty", required=False)
    fuel_note = forms.CharField(max_length=40, label="Fuel", required=False)
    stage = forms.ChoiceField(
        label="When",
        choices=WeighIn.Stage.choices,
        widget=forms.RadioSelect,
        initial=WeighIn.Stage.ENTRY,
    )
    scale_set = forms.ModelChoiceField(ScaleSet.objects.none(), label="Scales", empty_label=None)

    def __init__(self, *args: Any, entry: Entry, first: bool = False, **kwargs: Any) -> None:
        """`first`: nothing stands yet, so the page opens in the first box."""
        super().__init__(*args, **kwargs)
        self.unit = (kwargs.get("units") or Units.imperial()).mass
        self.fields["LF"].widget.attrs["autofocus"] = first
        if not asks_for_fuel(entry.event_class.rule_set):
            del self.fields["tank_empty"]
        for spot in PADS:
            self.fields[spot].label = f"{spot}, {self.unit}"
        scales = self.fields["scale_set"]
        assert isinstance(scales, forms.ModelChoiceField)  # noqa: S101 (declared above)
        scales.queryset = ScaleSet.objects.filter(club_id=entry.club_id)

    def clean(self) -> dict[str, Any]:
        """Pads as one mapping, as the action takes them."""
        given = dict(self.cleaned_data)
        pads = {spot: typed for spot in PADS if (typed := given.pop(spot, None)) is not None}
        if pads and given.get("total") is not None:
            self.add_error("total", "Give the four pads or a total, not both.")
        return {**given, "pads": pads}

    @property
    def wrong(self) -> list[forms.BoundField]:
        """The fields to mend, in the order of the page."""
        return [self[name] for name in self.fields if self[name].errors]

    def point_at_the_first(self) -> None:
        """Opens the page in the first field that has to be mended."""
        for number, field in enumerate(self.wrong):
            field.field.widget.attrs["autofocus"] = number == 0

    @property
    def is_fresh(self) -> bool:
        """Nothing was sent that has to be mended."""
        return not self.is_bound

    @property
    def pads(self) -> list[forms.BoundField]:
        """The four boxes, as the car stands."""
        return [self[spot] for spot in PADS]

    def action_values(self) -> dict[str, Any]:
        values = {**self.cleaned_data, "weigh_in_id": self.sent_id()}
        del values["row_id"]
        return values


YES_NO = [("yes", "Yes"), ("no", "No")]


class YesNo(forms.TypedChoiceField):
    """A question an official must answer: neither yes nor no is taken for granted."""

    def __init__(self, label: str) -> None:
        super().__init__(
            label=label, choices=YES_NO, coerce=lambda v: v == "yes", widget=forms.RadioSelect
        )


class BallastForm(KeepsNoPhoto, SentOnce, QuantityForm):
    """One look at one piece."""

    piece = forms.ModelChoiceField(
        BallastPiece.objects.none(), required=False, widget=forms.HiddenInput
    )
    label_legible = YesNo("Name or number can be read")
    label = forms.CharField(max_length=40, required=False, label="What stands on it")
    marked_mass = QuantityInput(
        kind=Kind.MASS, limits=bounds.PIECE, required=False, label="Weight marked on it"
    )
    weighed_mass = QuantityInput(
        kind=Kind.MASS, limits=bounds.PIECE, required=False, label="Weighed"
    )
    place = forms.CharField(max_length=60, required=False, label="Where on the car")
    fixed = YesNo("Fixed so that it cannot come loose")
    # Left empty by a page that was made before the weighing: then the records tell.
    when_weighed = forms.ChoiceField(
        label="When the car was weighed",
        choices=BallastCheck.WhenWeighed.choices,
        required=False,
        widget=forms.RadioSelect(attrs={"required": True}),
        help_text="A piece put on since then makes it another car: it is weighed again.",
    )
    photo = PhotoInput(
        required=False, help_text=f"{HINT} More can be added afterwards, {MOST_PHOTOS} in all."
    )

    def __init__(self, *args: Any, entry: Entry, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        piece = self.fields["piece"]
        assert isinstance(piece, forms.ModelChoiceField)  # noqa: S101 (declared above)
        piece.queryset = pieces_on(entry)
        if allowed := allowed_places(entry.event_class.rule_set):
            self.fields["place"].help_text = f"Allowed: {', '.join(allowed)}."
        if not self.is_bound and (self.initial.get("piece") or not _is_weighed(entry)):
            del self.fields["when_weighed"]

    def action_values(self) -> dict[str, Any]:
        values = {**self.cleaned_data, "check_id": self.sent_id()}
        del values["row_id"]
        return values


def _is_weighed(entry: Entry) -> bool:
    weigh_ins = entry.weighins.current()
    return weigh_ins.exists() and not weigh_ins.filter(stage=WeighIn.Stage.AFTER).exists()


class NotOnCarForm(SentOnce):
    """Why a piece that is on record is not on the car."""

    piece = forms.ModelChoiceField(
        BallastPiece.objects.none(), required=False, widget=forms.HiddenInput
    )
    look = forms.ModelChoiceField(
        BallastCheck.objects.none(), required=False, widget=forms.HiddenInput
    )
    reason = forms.CharField(max_length=200, label="Why it is not on the car")

    def __init__(self, *args: Any, entry: Entry, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, rows in (("piece", pieces_on(entry)), ("look", entry.ballastchecks.all())):
            field = self.fields[name]
            assert isinstance(field, forms.ModelChoiceField)  # noqa: S101 (declared above)
            field.queryset = rows

    @property
    def about(self) -> str:
        """Which piece it is, in words; empty where none was chosen."""
        for name in ("piece", "look"):
            try:
                chosen = self.fields[name].clean(self[name].value())
            except forms.ValidationError:
                continue
            if chosen is not None:
                listed = isinstance(chosen, BallastPiece)
                marked = chosen.marked_mass_typed if listed else chosen.marked_typed
                label = chosen.label or "A piece without a name"
                return f"{label}, marked {marked}" if marked else label
        return ""

    def action_values(self) -> dict[str, Any]:
        values = {**self.cleaned_data, "check_id": self.sent_id()}
        del values["row_id"]
        return values


class NoBallastForm(SentOnce):
    """One button: the official looked and there is none."""

    row_id = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def clean_row_id(self) -> UUID:
        """A new one where none was sent."""
        return self.cleaned_data["row_id"] or new_id()

    def action_values(self) -> dict[str, Any]:
        return {"check_id": self.sent_id()}


class MeasureForm(SentOnce, QuantityForm):
    """One length on the car that a rule asks for."""

    at = forms.ChoiceField(label="What and where", widget=forms.RadioSelect)
    length = QuantityInput(
        kind=Kind.LENGTH,
        limits=bounds.LENGTH_ON_A_CAR,
        label="Measured",
        widget=forms.TextInput(attrs={"class": "number", "autofocus": True}),
    )

    def __init__(self, *args: Any, asked: Sequence[tuple[Measure, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.asked = {f"{measure.pk}.{spot}": (measure, spot) for measure, spot in asked}
        at = self.fields["at"]
        assert isinstance(at, forms.ChoiceField)  # noqa: S101 (declared above)
        at.choices = [(key, f"{m.name}, {spot}") for key, (m, spot) in self.asked.items()]

    def action_values(self) -> dict[str, Any]:
        measure, spot = self.asked[self.cleaned_data["at"]]
        length = self.cleaned_data["length"]
        sent = self.sent_id()
        return {"measure": measure, "spot": spot, "length": length, "reading_id": sent}


class VoidForm(SentOnce):
    """Why a record does not count."""

    reason = forms.CharField(max_length=200, label="Why it does not count")

    def action_values(self) -> dict[str, Any]:
        return {"reason": self.cleaned_data["reason"], "void_id": self.sent_id()}
