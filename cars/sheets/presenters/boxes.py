"""The boxes of a sheet as somebody reads them: each with its figure, target and judgement."""

from dataclasses import dataclass, fields
from operator import attrgetter

from cars.figures.box_entries import box_text
from cars.figures.formatting import format_change, format_figure, format_verdict
from cars.figures.judgement import FigureOutcome
from cars.figures.prediction_format import format_reach
from cars.models import Change, Spot
from cars.sheets.queries.sheet_boxes import SheetBox
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units

SPOT_NAMES = dict(Spot.choices)
_figures_of = attrgetter(*(each.name for each in fields(SheetBox)))


@dataclass(frozen=True, slots=True)
class Cause:
    """What asks for a figure again, and the same in the reader's words."""

    change: Change
    text: str


@dataclass(slots=True)
class Box(SheetBox):
    """One measure at one spot, in words."""

    text: str = ""  # what stands in the box
    shown: str = ""  # the figure in the reader's units
    spread: str = ""  # how far off it may be, in the reader's units, where it is computed
    target: str = ""  # without its unit, which stands beside the measure
    tolerance: str = ""
    source: str = ""
    own: str = ""  # the team's own target here, without its unit
    before: str = ""
    causes: tuple[Cause, ...] = ()  # all that asks for it again
    wrong: str = ""  # why what was typed cannot be kept
    stands: str = ""  # what stands there all the same, and what it is to its target
    state: str = ""
    shape: str = ""
    words: str = ""
    stood: str = ""  # its text, where `text` is what could not be kept
    is_conflict: bool = False  # somebody else wrote here meanwhile
    name: str = ""  # of its field
    html_id: str = ""  # the same without the dot, which means something in CSS

    def __post_init__(self) -> None:
        """Names it after its key."""
        self.name = str(self.key)
        self.html_id = self.name.replace(".", "--")

    @property
    def cause(self) -> Cause | None:
        """The first change that asks for it again."""
        return self.causes[0] if self.causes else None

    @property
    def display(self) -> str:
        """The figure, behind what was typed where it is rounded: '0,6 bar, about 8.7 psi'.

        In parentheses where nobody has read it here.
        """
        return f"({self.plain})" if self.is_carried else self.plain

    @property
    def plain(self) -> str:
        """The same without a word on who read it."""
        return f"{self.text}, {self.shown}" if self.is_rounded else self.shown

    @property
    def is_rounded(self) -> bool:
        """What is shown is not exactly what was typed."""
        return bool(self.text) and self.shown.startswith("about ")

    @property
    def spot(self) -> str:
        """LF, RF, ...; empty where the measure is read at one spot only."""
        return self.key.spot if len(self.measure.spots) > 1 else ""

    @property
    def spot_name(self) -> str:
        """Left front, ..."""
        return str(SPOT_NAMES[self.key.spot])

    @property
    def target_text(self) -> str:
        """'9 ± 0.5'; '12' where nothing may be off; empty without a target."""
        return f"{self.target} ± {self.tolerance}" if self.tolerance != "0" else self.target

    def refuse(self, why: str) -> None:
        """What was typed cannot be kept; what stands is told apart from it."""
        self.stands = f"{self.display}, {self.words}" if self.is_taken else "nothing yet"
        self.wrong, self.state, self.shape, self.words = why, "bad", "!", "not saved"


def as_box(sheet_box: SheetBox) -> Box:
    """The box with its judgement, and without a word: it is counted and not shown."""
    return Box(*_figures_of(sheet_box))


def write_box(sheet_box: SheetBox, units: Units, carried_word: str) -> Box:
    """The box in the reader's units; `carried_word` names the sheet that figures were carried
    from."""
    box = as_box(sheet_box)
    measure = box.measure
    if box.figure is not None:
        box.shown = format_figure(box.figure.value, measure, units)
        if box.figure.half_step is None and box.figure.reach:
            box.spread = format_reach(float(box.figure.reach), Kind(measure.kind), units)
    if box.reading is not None:
        box.text = box.stood = box_text(measure, box.reading.typed, box.reading.unit, units)
        box.shown = box.shown or box.reading.typed
    if box.standard is not None:
        box.target = format_figure(box.standard.target, measure, units, bare=True)
        box.tolerance = format_figure(box.standard.tolerance, measure, units, delta=True, bare=True)
        box.source = box.standard.source
    if box.earlier is not None:
        box.before = format_figure(box.earlier.value, measure, units, bare=True)
    if box.carried is not None and box.is_check:
        box.text = box.stood = ""  # nobody has looked here
    if box.is_retake:
        _ask_again(box, units)
    else:
        _judge(box, units, carried_word)
    return box


def _judge(box: Box, units: Units, carried_word: str) -> None:
    """A copied figure is judged, and says that it was not read here; a copied check is open."""
    box.state, box.shape, box.words = format_verdict(box.measure, box.judgement, units)
    if box.carried is not None:
        words = [] if box.judgement.outcome is FigureOutcome.NO_TARGET else [box.words]
        if box.is_check:
            box.state, box.shape, words = "none", "○", ["not checked here"]
        box.words = "; ".join([*words, f"carried from {carried_word}"])
    if box.from_carried:
        box.words += "; from carried figures"


def _ask_again(box: Box, units: Units) -> None:
    """Whatever the figure was, it no longer says how the car stands."""
    box.causes = tuple(Cause(each, format_change(each, units)) for each in box.asked_by)
    box.state, box.shape = "again", "↻"
    again = "check again" if box.is_check else "take again"
    box.words = f"{again}: {', '.join(cause.text for cause in box.causes)}"
