"""What of a sheet is off, too close to tell or to be taken again, each with its strip."""

from dataclasses import dataclass

from django.utils.safestring import SafeString, mark_safe

from cars.figures.formatting import format_figure, which_way
from cars.sheets.presenters.boxes import Box
from cars.sheets.presenters.figure_table import bare_figure, checks_id, row_id
from cars.sheets.presenters.sheet_view import SheetRow, SheetView
from clubsetup.plots.bands import Band
from clubsetup.plots.strip import Reading, State, target_strip
from clubsetup.quantities.units import Units

# The first of all that is wrong; the others are folded, so that the sheet stays near.
SHOWN = 6


@dataclass(frozen=True, slots=True)
class SheetException:
    """One line: what it is, its figure, where that stands, and the verdict."""

    measure: str
    step: str
    name: str
    figure: str
    unit: str
    look: str
    mark: str
    words: str
    strip: str = ""
    url: str = ""


@dataclass(frozen=True, slots=True)
class Exceptions:
    """All of a sheet, the first few apart; and what is said over and under them."""

    title: str
    rest: str
    first: list[SheetException]
    more: list[SheetException]


def exceptions_of(
    view: SheetView, urls: dict[str, str] | None = None, *, shown: tuple[float, float] | None = None
) -> Exceptions:
    """Off first, then too close to tell, then what is to be taken again.

    `urls` leads to where each step is measured; without one a line leads to its row of the table.
    `shown` is the size of a strip on paper.
    """
    rows = [row for step in view.steps for row in step.rows]
    found = [
        *(_one(row, box, view.units, urls, shown) for row, box in _judged(rows, "bad")),
        *(_one(row, box, view.units, urls, shown) for row, box in _judged(rows, "close")),
        *(_retakes(row, urls) for row in rows if any(box.is_retake for box in row.boxes)),
    ]
    first = found if len(found) <= SHOWN + 1 else found[:SHOWN]
    return Exceptions(title(view), _rest(view), first, found[len(first) :])


def title(view: SheetView) -> str:
    """'4 of 59 off, 2 too close to tell, 1 to retake'."""
    said = [view.judged_words] if view.judged else []
    if view.retakes:
        said.append(f"{view.retakes} to retake")
    return ", ".join(said) or "Nothing to judge yet"


def _rest(view: SheetView) -> str:
    """'84 of 84 taken. The other 52 with a target are on it.'"""
    taken = f"{view.taken} of {view.of} taken"
    if view.carried:
        taken += f", {view.carried} carried from {view.carried_word}"
    good = view.judged - view.off - view.close
    if not good:
        return f"{taken}."
    if good == view.judged:
        return f"{taken}. All {good} with a target are on it."
    return f"{taken}. The other {good} with a target are on it."


def _judged(rows: list[SheetRow], state: str) -> list[tuple[SheetRow, Box]]:
    return [(row, box) for row in rows for box in row.boxes if box.state == state and not box.wrong]


def _one(
    row: SheetRow,
    box: Box,
    units: Units,
    urls: dict[str, str] | None,
    shown: tuple[float, float] | None,
) -> SheetException:
    words = _miss(box, units) if box.state == "bad" else "too close to tell"
    return SheetException(
        measure=row.measure.pk,
        step=row.measure.step_id,
        name=_name(row, box),
        figure=bare_figure(box, row.unit),
        unit=row.unit.strip(),
        look=box.state,
        mark=box.shape,
        words=f"{words}, carried" if box.is_carried else words,
        strip=_strip(box, shown),
        url=_url(row, urls),
    )


def _retakes(row: SheetRow, urls: dict[str, str] | None) -> SheetException:
    """All boxes of a measure that are to be taken again, and every change that asks for it."""
    boxes = [box for box in row.boxes if box.is_retake]
    causes = dict.fromkeys(cause.text for box in boxes for cause in box.causes)
    where = " ".join(box.spot for box in boxes)
    is_one = len(boxes) == 1 and not row.is_check
    return SheetException(
        measure=row.measure.pk,
        step=row.measure.step_id,
        name=_name(row, boxes[0]) if len(boxes) == 1 else f"{row.measure.name} {where}",
        figure=bare_figure(boxes[0], row.unit) if is_one else "",
        unit=row.unit.strip() if is_one else "",
        look="again",
        mark="↻",
        words=f"{'check again' if row.is_check else 'retake'}: {', '.join(causes)}",
        url=_url(row, urls),
    )


def _name(row: SheetRow, box: Box) -> str:
    """'Ride height LR', 'Wheelbase right', 'Lead'."""
    return f"{row.measure.name} {box.spot}".strip()


def _url(row: SheetRow, urls: dict[str, str] | None) -> str:
    here = checks_id(row.measure.step_id) if row.is_check else row_id(row.measure)
    return (urls or {}).get(row.measure.step_id, "") or f"#{here}"


def _miss(box: Box, units: Units) -> str:
    """'1/8 low', '8 psi low': fractions are of an inch wherever they stand."""
    miss = abs(box.judgement.miss)
    amount = format_figure(miss, box.measure, units, delta=True)
    if "/" in amount:
        amount = amount.removesuffix(" in")
    return f"{amount} {which_way(box.measure, box.judgement)}"


def _strip(box: Box, shown: tuple[float, float] | None) -> SafeString:
    """Where the figure stands; none where nothing may be off, for there is no band."""
    standard, figure = box.standard, box.figure
    if standard is None or figure is None or not standard.tolerance:
        return SafeString("")
    band = Band.around(standard.target, standard.tolerance)
    state = State.OFF if box.state == "bad" else State.TOO_CLOSE
    reading = Reading(band, state, float(figure.value), float(figure.reach or 0))
    # The verdict stands beside it in words.
    return mark_safe(target_strip(reading, name="", shown=shown))  # noqa: S308
