"""Time zones by their names in the IANA time zone database (RFC 6557)."""

from collections.abc import Iterable
from datetime import datetime
from functools import cache
from zoneinfo import ZoneInfo, available_timezones

from clubsetup.clock.writing import abbreviation

UTC = "UTC"
# Of the first parts of names only these are places; the others are older spellings.
AREAS = (
    *("America", "Africa", "Antarctica", "Arctic", "Asia", "Atlantic", "Australia", "Europe"),
    *("Indian", "Pacific"),
)
ELSEWHERE = "Everywhere"
NO_PLACE = frozenset({"Factory", "localtime"})


@cache
def zone_names() -> frozenset[str]:
    """Every name that is one."""
    return frozenset(available_timezones()) - NO_PLACE


def unknown_zone(name: str) -> str:
    """What is wrong with this name of a zone; empty where nothing is."""
    if name in zone_names():
        return ""
    return f'There is no time zone "{name}". Choose one such as America/Chicago, or UTC.'


def one_zone(names: Iterable[str]) -> ZoneInfo | None:
    """The zone, where all of `names` are the same one."""
    zones = set(names)
    return ZoneInfo(zones.pop()) if len(zones) == 1 else None


def zones_by_area(now: datetime, also: str = "") -> list[tuple[str, list[tuple[str, str]]]]:
    """What a person chooses from: by area, (name, 'Chicago, CST') of every place.

    `also` is offered even if it is an older spelling, since somebody chose it once.
    """
    offered = {name for name in zone_names() if name.partition("/")[0] in AREAS} | {UTC}
    grouped: dict[str, list[tuple[str, str]]] = {}
    for name in sorted(offered | ({also} & zone_names())):
        area, _, place = name.partition("/")
        grouped.setdefault(area if place else ELSEWHERE, []).append((name, _place(name, now)))
    return [(area, grouped[area]) for area in sorted(grouped, key=_nearness)]


def _nearness(area: str) -> tuple[int, str]:
    return (AREAS.index(area) if area in AREAS else len(AREAS), area)


def _place(name: str, now: datetime) -> str:
    words = (name.partition("/")[2] or name).replace("_", " ").replace("/", ", ")
    there = now.astimezone(ZoneInfo(name))
    called = abbreviation(there)
    return words if called == words else f"{words}, {called} ({_offset(there)})"


def _offset(when: datetime) -> str:
    """'UTC-06:00', written out because strftime does so from Python 3.12 on only."""
    digits = f"{when:%z}"
    return f"{UTC}{digits[:3]}:{digits[3:5]}"
