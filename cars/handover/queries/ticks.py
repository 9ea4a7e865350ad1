"""What goes along only when it is ticked, one by one, after it was read."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from cars.catalogue.queries import Catalogue
from cars.handover.queries.goods import PERCENT, WITH_DRIVER, Goods, ballast_of, shares_of, total_of
from cars.handover.queries.hidden_weight import (
    ballast_within,
    hidden_weight_within,
    plan_within,
    together,
)
from cars.models import Feel, Plan, Run, RunDetails, Sheet
from cars.models.catalogue import Taken
from clubsetup.clock.writing import minute


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """Something that goes along only if it is ticked, and what it says, to be read first."""

    pk: str
    of: str  # the sheet or run, by name
    sort: str  # one of the presenter's SORTS
    says: str
    sheet: UUID | None = None
    run: UUID | None = None
    box: tuple[str, str] | None = None  # measure and spot, of words
    # Whether it tells of the driver's weight, and how closely: kg, None where that is not known.
    tells_weight: bool = False
    within: float | None = None


def ticks_of(goods: Goods, known: Catalogue) -> list[Tick]:
    """All that goes along only when ticked."""
    found = list(_of_car(goods))
    found += [tick for sheet in goods.sheets for tick in of_sheet(sheet, goods, known)]
    return found + [tick for run in goods.runs for tick in of_run(run, goods)]


def weight_within(ticks: Sequence[Tick], ticked: Iterable[str]) -> float | None:
    """How closely all that is ticked tells the driver's weight, kg; None where nothing does."""
    chosen = frozenset(ticked)
    return together(tick.within for tick in ticks if tick.pk in chosen)


def _of_car(goods: Goods) -> Iterator[Tick]:
    of = f"Car {goods.car.number}"
    for row in goods.own_targets:
        name = f"{row.measure_id} {row.spot}"
        tells = row.measure_id in WITH_DRIVER
        if tells:
            says = f"{name} {row.target_typed} ± {row.tolerance_typed}"
            yield Tick(
                pk=f"own-target:{row.pk}",
                of=of,
                sort="own-target",
                says=says,
                box=(row.measure_id, row.spot),
                tells_weight=True,
            )
        yield Tick(
            pk=f"own-reason:{row.pk}",
            of=of,
            sort="own-reason",
            says=row.reason,
            box=(row.measure_id, row.spot),
        )
    if goods.pieces:
        within = None
        total = next((t for s in goods.sheets if (t := total_of(_rows(s)))), None)
        if total is not None and goods.minimum is not None:
            within = ballast_within(total, goods.minimum)
        yield Tick(
            pk=f"fitted:{goods.car.pk}",
            of=of,
            sort="fitted",
            says="; ".join(pieces_of(goods)),
            tells_weight=True,
            within=within,
        )


def pieces_of(goods: Goods) -> list[str]:
    """The ballast that is fitted, piece by piece."""
    return [
        f"{piece.marked_mass_typed}{f' at {piece.mount}' if piece.mount else ''}"
        for piece in goods.pieces
    ]


def _rows(sheet: Sheet) -> Any:
    hung: Any = sheet
    return hung.standing


def of_sheet(sheet: Sheet, goods: Goods, known: Catalogue) -> Iterator[Tick]:
    """Those of one sheet."""
    hung: Any = sheet
    given: dict[str, Any] = {"sheet": sheet.pk, "of": str(sheet)}
    if sheet.driver is not None:
        yield Tick(pk=f"driver:{sheet.pk}", sort="driver", says=sheet.driver.display_name, **given)
    if sheet.note:
        yield Tick(pk=f"note:{sheet.pk}", sort="note", says=sheet.note, **given)
    if sheet.reason:
        yield Tick(pk=f"reason:{sheet.pk}", sort="reason", says=sheet.reason, **given)
    for comment in hung.said:
        yield Tick(pk=f"comment:{comment.pk}", sort="comment", says=comment.text, **given)
    for row in hung.standing:
        if known.measures[row.measure_id].taken == Taken.WORDS and row.typed:
            box = (row.measure_id, row.spot)
            yield Tick(pk=f"words:{row.pk}", sort="words", says=row.typed, box=box, **given)
    for row in hung.fitted:
        code = getattr(row.part, "code", None)
        if code is not None:
            says = f"{row.get_sort_display()} {row.spot}: {code.code}"
            yield Tick(pk=f"code:{row.pk}", sort="code", says=says, **given)
    yield from _loads(sheet, goods, given)
    for plan in hung.planned:
        yield _plan(plan, given)


def _loads(sheet: Sheet, goods: Goods, given: dict[str, Any]) -> Iterator[Tick]:
    rows = _rows(sheet)
    shares, ballast, total = shares_of(rows), ballast_of(rows), total_of(rows)
    if not shares and not ballast:
        return
    said = [f"{name} {PERCENT * share:.1f} %" for name, share in shares.items()]
    within = hidden_weight_within(total, shares) if total else None
    if ballast:
        said.append(f"ballast {ballast}")
        if total is not None and goods.minimum is not None:
            within = together([within, ballast_within(total, goods.minimum)])
    yield Tick(
        pk=f"loads:{sheet.pk}",
        sort="loads",
        says=", ".join(said),
        tells_weight=True,
        within=within,
        **given,
    )


def _plan(plan: Plan, given: dict[str, Any]) -> Tick:
    turns = ", ".join(f"{turn:+.2f}" for turn in plan.turns_as_floats)
    says = f"turns LF RF LR RR {turns}, {crosses_of(plan)}"
    within = plan_within(sum(plan.loads_before), plan.cross_before, plan.cross)
    return Tick(
        pk=f"plan:{plan.pk}", sort="plan", says=says, tells_weight=True, within=within, **given
    )


def crosses_of(plan: Plan) -> str:
    """Before and after, to a tenth of a percent."""
    return f"cross {PERCENT * plan.cross_before:.1f} % to {PERCENT * plan.cross:.1f} %"


def run_name(run: Run, goods: Goods) -> str:
    """'Heat, 14 Mar 2026 at 10:20'."""
    when = run.ran_at.astimezone(goods.car.team.club.zone())
    details = details_of(run)
    kind = details.get_kind_display() if details else "Run"
    return f"{kind}, {minute(when)}"


def details_of(run: Run) -> RunDetails | None:
    """What is known of where and how."""
    hung: Any = run
    found: RunDetails | None = next(iter(hung.known), None)
    return found


def felt(run: Run, said_by: str) -> Feel | None:
    """How it felt to the driver, or what the handler saw."""
    hung: Any = run
    return next((row for row in hung.felt if row.said_by == said_by), None)


def feel_words(feel: Feel | None) -> str:
    """'entry pushes, steering heavy'."""
    if feel is None:
        return ""
    names = ("entry", "middle", "exit", "hands", "steering")
    said = {name: getattr(feel, f"get_{name}_display")() for name in names if getattr(feel, name)}
    return ", ".join(f"{name} {word.lower()}" for name, word in said.items())


def of_run(run: Run, goods: Goods) -> Iterator[Tick]:
    """Those of one run: the run itself first; the others go only with it."""
    details, hung = details_of(run), run
    laps = next(iter(hung.timed), None)  # type: ignore[attr-defined]
    said = [details.track.name] if details and details.track else []
    if laps is not None:
        said.append(f"{len(laps.times)} laps, the fastest {min(laps.times):f} s")
    if seen := feel_words(felt(run, Feel.SaidBy.HANDLER)):
        said.append(f"the handler saw: {seen}")
    given: dict[str, Any] = {"run": run.pk, "of": run_name(run, goods)}
    yield Tick(pk=f"run:{run.pk}", sort="run", says=", ".join(said) or "no more is known", **given)
    if details is not None:
        if details.driver is not None:
            name = details.driver.display_name
            yield Tick(pk=f"run-driver:{run.pk}", sort="run-driver", says=name, **given)
        for column in ("note", "damage"):
            if text := getattr(details, column):
                pk = f"run-{column}:{run.pk}"
                yield Tick(pk=pk, sort=f"run-{column}", says=text, **given)
    if words := feel_words(felt(run, Feel.SaidBy.DRIVER)):
        yield Tick(pk=f"run-said:{run.pk}", sort="run-said", says=words, **given)
