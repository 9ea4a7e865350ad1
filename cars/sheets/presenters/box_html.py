"""The boxes of a sheet as HTML.

Written here and not in a template: a sheet has about ninety boxes, and the template engine takes
three times as long over them as over everything else on the page (tests/benchmarks/bench_sheet.py).
Every value that somebody typed goes through `escape`.
"""

from html import escape

from django.utils.safestring import SafeString, mark_safe

from cars.models.catalogue import Taken
from cars.sheets.queries.sheet_view import Box, Row, SheetView

OOB = ' hx-swap-oob="true"'
TYPING = 'autocomplete="off" autocapitalize="off" spellcheck="false"'


def _safe(text: str) -> SafeString:
    return mark_safe(text)  # noqa: S308 (put together below from escaped parts)


def verdict(box: Box, *, oob: bool = False, editable: bool = False) -> SafeString:
    """What the figure is to its target, or why what was typed could not be kept.

    A box to be read again, or for the first time here, has a button for 'it says the same', of a
    form of its own.
    """
    swap = OOB if oob else ""
    if box.wrong:
        said = (
            f'<p class="error" role="alert">{escape(box.wrong)}</p>'
            f'<p class="small muted stands">Not saved. On the sheet: {escape(box.stands)}</p>'
        )
        if box.is_conflict:
            said += (
                f'<button name="over" value="{box.name}">Write mine in its place'
                f'<span class="visually-hidden">, {box.spot_name}</span></button>'
            )
    else:
        said = (
            f'<span class="state {box.state}"><span class="shape" aria-hidden="true">'
            f"{box.shape}</span> {escape(box.words)}</span>"
        )
        if editable and _may_say_the_same(box):
            same = "Still so" if box.measure.taken == Taken.DONE else "Same again"
            said += (
                f'<button form="same-again" name="again" value="{box.name} {box.reading_id}">{same}'
                f'<span class="visually-hidden">, {box.spot_name}</span></button>'
            )
    return _safe(f'<div class="verdict" id="v-{box.html_id}"{swap}>{said}</div>')


def _may_say_the_same(box: Box) -> bool:
    """It is to be read again, or read at all, and may say what stands there."""
    return box.is_retake or (box.carried is not None and box.measure.taken != Taken.DONE)


def _head(box: Box, row: Row, view: SheetView) -> str:
    """Where it is read, what stood there before, and the target."""
    before = (
        f'<span class="aim">{view.before_word} {escape(box.before)}</span>' if box.before else ""
    )
    target = f"target {escape(box.aim)}" if box.target else ""
    aim = f'<span class="aim">{target}</span>' if row.has_targets else ""
    if any(each.own for each in row.boxes):
        aim += f'<span class="aim">{f"ours {escape(box.own)}" if box.own else ""}</span>'
    return f'<span class="box-head"><span class="spot">{box.spot}</span>{before}</span>{aim}'


def figure(box: Box, row: Row, view: SheetView, *, oob: bool = False) -> SafeString:
    """A figure nobody types here: a computed one, or any of a closed sheet."""
    kind = "box computed" if row.is_derived else "box"
    swap = OOB if oob else ""
    spread = f' <small class="num muted">{escape(box.spread)}</small>' if box.spread else ""
    return _safe(
        f'<div class="{kind}" id="c-{box.html_id}"{swap}>{_head(box, row, view)}'
        f'<b class="num">{escape(box.told) or "–"}</b>{spread}{verdict(box)}</div>'
    )


def _tick(box: Box, row: Row, save: str) -> str:
    name = escape(row.measure.name)
    label = f'<span class="visually-hidden">{name} </span>{box.spot or "Done"}'
    checked = " checked" if box.text else ""
    return (
        f'<label class="check"><input type="checkbox" name="{box.name}" value="done"{checked} '
        f'hx-post="{save}" aria-describedby="v-{box.html_id}" data-next> {label}</label>'
    )


def _typed(box: Box, row: Row, view: SheetView, save: str) -> str:
    kind, longest = ("words", 200) if row.is_words else ("number", 60)
    invalid = ' aria-invalid="true"' if box.wrong else ""
    return (
        f'<label for="b-{box.html_id}"><span class="visually-hidden">{escape(row.measure.name)} '
        f'</span>{_head(box, row, view)}</label><input class="{kind}" id="b-{box.html_id}" '
        f'name="{box.name}" value="{escape(box.text)}" maxlength="{longest}" {TYPING} '
        f'hx-post="{save}" aria-describedby="v-{box.html_id}"{invalid} data-next>'
    )


def _boxes(row: Row, view: SheetView, save: str) -> str:
    if row.is_derived or not save:
        return "".join(figure(box, row, view) for box in row.boxes)
    fields = (
        (
            _tick(box, row, save) if row.is_check else _typed(box, row, view, save),
            verdict(box, editable=True),
        )
        for box in row.boxes
    )
    return "".join(f'<div class="box" data-reading>{a}{b}</div>' for a, b in fields)


def row_html(row: Row, view: SheetView, save: str) -> SafeString:
    """A measure with its boxes; `save` is where they are sent, empty where nobody may type."""
    measure = row.measure
    # 'Left side %' says its own.
    has_unit = row.unit and not measure.name.endswith(row.unit)
    unit = f' <span class="unit">{escape(row.unit)}</span>' if has_unit else ""
    single = " single" if len(row.boxes) == 1 else ""
    return _safe(
        f'<div class="measure{single}" role="group" aria-labelledby="m-{measure.pk}">'
        f'<details class="where"><summary id="m-{measure.pk}">{escape(measure.name)}{unit}'
        f'</summary><p class="help">{escape(measure.where)}</p></details>'
        f'<div class="boxes boxes-{len(row.boxes)}">{_boxes(row, view, save)}</div></div>'
    )
