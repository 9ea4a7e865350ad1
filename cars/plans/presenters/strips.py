"""What figures are expected to be after a plan, each on its target strip."""

from dataclasses import dataclass
from decimal import Decimal

from django.utils.safestring import SafeString

from cars.figures.formatting import format_verdict
from cars.figures.judgement import FigureOutcome, Judgement, Standard, judge
from cars.figures.prediction_format import as_decimal, format_predicted, format_reach
from cars.models import Measure
from clubsetup.plots.bands import Band
from clubsetup.plots.strip import Reading, State, target_strip
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units

STATES = {
    FigureOutcome.ON_TARGET: State.ON_TARGET,
    FigureOutcome.OFF: State.OFF,
    FigureOutcome.TOO_CLOSE: State.TOO_CLOSE,
}
# Beside a limit so much is shown that neither the figure nor its doubt leaves the strip.
LEAST_ROOM_KG = 0.5


@dataclass(frozen=True, slots=True)
class FigureThen:
    """One figure after a plan: how it reads, how sure that is, and where it stands."""

    name: str
    text: str
    spread: str = ""
    strip: str = ""
    state: str = ""
    shape: str = ""
    words: str = ""


def figure_then(
    name: str,
    measure: Measure,
    units: Units,
    standard: Standard | None,
    *,
    value: float,
    reach: float = 0.0,
    before: float | None = None,
) -> FigureThen:
    """A figure judged as the sheet would judge it; all canonical, `reach` its 95 %.

    `before` is what it is now, the small open triangle of the strip.
    """
    kind, state, shape, words = Kind(measure.kind), "", "", ""
    judged = Judgement(FigureOutcome.NO_TARGET)
    if standard is not None:
        judged = judge(as_decimal(value), standard.target, standard.tolerance, as_decimal(reach))
        state, shape, words = format_verdict(measure, judged, units)
    return FigureThen(
        name,
        format_predicted(value, kind, units),
        format_reach(reach, kind, units) if reach else "",
        strip_of(standard, judged, value, reach, before),
        state,
        shape,
        words,
    )


def strip_of(
    standard: Standard | None,
    judged: Judgement,
    value: float | Decimal,
    reach: float | Decimal,
    before: float | None = None,
) -> SafeString:
    """The strip alone; empty without a target, or where nothing may be off.

    The verdict stands beside it in words, so a screen reader passes it over.
    """
    state = STATES.get(judged.outcome)
    if standard is None or state is None or standard.tolerance <= 0:
        return SafeString("")
    band = Band.around(standard.target, standard.tolerance)
    return SafeString(
        target_strip(Reading(band, state, float(value), float(reach), before), name="")
    )


def weight_strip(weight: float, *, reach: float, least: float, is_legal: bool) -> SafeString:
    """The weight against the least that is wanted, kg."""
    room = max(LEAST_ROOM_KG, 2.0 * reach, abs(weight - least) / 2.0)
    state = State.ON_TARGET if is_legal else State.OFF
    reading = Reading(Band.at_least(least, room=room), state, weight, reach)
    return SafeString(target_strip(reading, name=""))
