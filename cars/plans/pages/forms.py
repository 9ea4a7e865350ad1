"""The forms of plans."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms

from cars.catalogue.keys import Key
from cars.mechanics import CORNER_NAMES
from cars.plans.presenters.targets import plan_source_name
from cars.plans.queries.sheet_figures import SheetFigures
from cars.sheets.actions.save_boxes import BoxInput
from cars.sheets.pages.boxes import SEEN, read_seen, seen_json, typed_text
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.units import Units

MOST_SLID = 3  # turns either way on a slider
WEIGHED = ("weight", "ride-height")


class TargetsForm(forms.Form):
    """Where the targets of a plan come from."""

    targets = forms.ChoiceField(label="Targets", required=False)
    cross = forms.DecimalField(
        label="Cross wanted, %",
        required=False,
        min_value=30,
        max_value=75,
        help_text="Empty: as the target says.",
        widget=forms.NumberInput(attrs={"step": "0.1", "inputmode": "decimal"}),
    )

    def __init__(self, *args: Any, on_sheet: SheetFigures, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choices = [(source.value, plan_source_name(source)) for source in on_sheet.targets.sources]
        self.fields["targets"].choices = choices or [("", "No target yet")]  # type: ignore[attr-defined]
        source = on_sheet.targets.source
        self.initial["targets"] = source.value if source else ""


@dataclass(frozen=True, slots=True)
class WeighBox:
    """One box of the form to weigh and measure with."""

    key: Key
    label: str
    text: str = ""
    wrong: str = ""

    @property
    def name(self) -> str:
        return str(self.key)

    @property
    def html_id(self) -> str:
        """The same without the dot."""
        return f"w-{self.name.replace('.', '--')}"


@dataclass(frozen=True, slots=True)
class WeighCorner:
    name: str
    boxes: list[WeighBox]


def weigh_corners(
    units: Units,
    sent: Sequence[BoxInput] = (),
    wrong: Mapping[Key, str] | None = None,
) -> list[WeighCorner]:
    """Empty boxes for the four weights and ride heights, or what was typed and why not kept."""
    labels = {
        "weight": f"Weight, {unit_of(Kind.MASS, units.mass).suffix.strip()}",
        "ride-height": f"Height, {unit_of(Kind.LENGTH, units.length).suffix.strip()}",
    }
    typed, wrong = {one.key: one.text for one in sent}, wrong or {}
    return [
        WeighCorner(
            corner,
            [
                WeighBox(key, labels[measure], typed.get(key, ""), wrong.get(key, ""))
                for measure in WEIGHED
                for key in [Key(measure, corner)]
            ],
        )
        for corner in CORNER_NAMES
    ]


def weights_seen(on_sheet: SheetFigures) -> str:
    """The readings of the weights and heights that stand there as the form is made."""
    return seen_json(
        (str(Key(row.measure_id, row.spot)), row.pk, row.typed)
        for row in on_sheet.weighed
        if row.take == 1
    )


def sent_weights(post: Mapping[str, str]) -> list[BoxInput]:
    """What was typed into those boxes; empty ones say nothing."""
    seen = read_seen(post.get(SEEN, ""))
    keys = [Key(measure, corner) for measure in WEIGHED for corner in CORNER_NAMES]
    return [
        BoxInput(key, text, seen.get(str(key), (None, ""))[0])
        for key in keys
        if (text := typed_text(post.get(str(key), "")))
    ]


class ResetForm(forms.Form):
    """Why a car is learned anew."""

    outcome: Any
    reason = forms.CharField(
        max_length=200,
        label="Why?",
        help_text="As in: another frame, the scales were wrong that month, springs re-rated.",
    )
