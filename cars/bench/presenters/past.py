"""Where the figures of last time come from, in words."""

from dataclasses import dataclass

from cars.models import Sheet
from clubsetup.clock.writing import day


@dataclass(frozen=True, slots=True)
class Past:
    """Where the figures beside the boxes come from."""

    text: str  # 'last found and set: 11 and 13 Nov 2026, Quarry Lane'
    other_surface: str = ""  # where that was not this sheet's


def past_of(sheets: list[Sheet], surface: str) -> list[Past]:
    """Found and set of one track in one line, each of its own otherwise."""
    places = {(sheet.track_id, sheet.surface) for sheet in sheets}
    groups = [sheets] if len(places) == 1 else [[sheet] for sheet in sheets]
    return [_written(group, surface) for group in groups]


DONE: dict[str, str] = {Sheet.Role.FOUND: "found", Sheet.Role.SET: "set"}


def _written(group: list[Sheet], surface: str) -> Past:
    first, last = group[0], group[-1]
    done = f"{DONE[last.role]} {day(last.made_on)}"
    if first.made_on != last.made_on:
        same_month = first.made_on.replace(day=1) == last.made_on.replace(day=1)
        begun = str(first.made_on.day) if same_month else day(first.made_on)
        done = f"{DONE[first.role]} {begun}, {done}"
    elif first != last:
        done = f"{DONE[first.role]}, {done}"
    where = f", {last.track}" if last.track else ""
    other = str(last.get_surface_display()).lower() if last.surface != surface else ""
    return Past(f"last time: {done}{where}", other)
