"""The trail as people read it."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

from django.apps import apps
from django.core.exceptions import ImproperlyConfigured
from django.db.models import QuerySet

from clubsetup.access.models import TrailLine, User
from clubsetup.quantities.units import Units
from clubsetup.site.contributions import contributed
from clubsetup.site.list_pages import page_of
from teams.models import Club, ClubMember, Team

PAGE = 50
MOST_WORDS = 4  # of a list or mapping that a line spells out; of a longer one it says how many
LONGEST_WORD = 60
_IMPERIAL = Units.imperial()
_PEOPLE = ("who", "coach")
READ = "read"  # the line that access.note_read writes


@dataclass(frozen=True, slots=True)
class Naming:
    """How a thing of one kind is named in the trail, and what is read with it for that."""

    words: Callable[[Any], str]
    joined: tuple[str, ...] = ()


Detail = Callable[[dict[str, Any], Units], str]


class TrailWords:
    """How the trail tells what was done to the things of one app."""

    def __init__(self) -> None:
        self.spoken: dict[tuple[str, str], str] = {}
        self.named: dict[str, Naming] = {}
        self.detailed: dict[tuple[str, str], Detail] = {}

    def say(self, did: str, kind: str, words: str) -> None:
        """That `did` was done to a thing of `kind` ('cars.sheet'), where the past participle and
        the thing's own name do not read as a sentence."""
        self.spoken[did, kind] = words

    def name(self, kind: str, words: Callable[[Any], str], *joined: str) -> None:
        """Which thing of `kind` a line is about, in `words` of the thing; `joined` is read with
        it."""
        self.named[kind] = Naming(words, joined)

    def detail(self, did: str, kind: str, words: Detail) -> None:
        """What is told beside `did`, in `words` of the detail kept and the reader's units, where
        that is more than plain words."""
        self.detailed[did, kind] = words


_words = TrailWords()


def collect() -> None:
    """From what the apps list as `trail_words`; two cannot tell of the same thing."""
    brought = list(contributed("trail_words"))
    for part in ("spoken", "named", "detailed"):
        spoken = [item for words in brought for item in getattr(words, part).items()]
        keyed = dict(spoken)
        if len(keyed) < len(spoken):
            raise ImproperlyConfigured(f"two apps tell of the same thing in the trail: {part}")
        setattr(_words, part, keyed)


@dataclass(frozen=True)
class TrailItem:
    """One thing that was done."""

    id: UUID
    at: datetime
    by: str
    what: str
    on: str  # which one, where that can be said and the reader sees it
    detail: str


class TrailPage(NamedTuple):
    """Some lines, the newest first, and the line before which the next page begins, if more are."""

    lines: list[TrailItem]
    older: UUID | None


def team_trail(team: Team, before: UUID | None = None, *, units: Units = _IMPERIAL) -> TrailPage:
    """What was done in a team, newest first: one page, from before the line `before`."""
    return _page(TrailLine.objects.filter(team_id=team.pk), before, units)


def club_trail(club: Club, before: UUID | None = None, *, units: Units = _IMPERIAL) -> TrailPage:
    """What was done in the club itself, newest first; the teams' own doings are theirs."""
    return _page(TrailLine.objects.filter(club_id=club.pk, team_id=None), before, units)


def own_trail(user: User, before: UUID | None = None, *, units: Units = _IMPERIAL) -> TrailPage:
    """What a person did with their own account, newest first; for that person alone."""
    return _page(TrailLine.objects.filter(by=user, club_id=None, team_id=None), before, units)


def _page(rows: QuerySet[TrailLine], before: UUID | None, units: Units) -> TrailPage:
    # Not joined: the people of all lines would be looked up before the newest are chosen.
    lines, older = page_of(rows.prefetch_related("by").order_by("-pk"), PAGE, before)
    names, things, roles = _names(lines), _things(lines), _roles(lines)
    items = [
        TrailItem(
            id=row.pk,
            at=row.created_at,
            by=str(row.by),
            what=_what(row),
            on=things.get((row.on_kind, row.on_id), ""),
            detail=roles.get(row.by_id, "") if row.did == READ else _detail(row, names, units),
        )
        for row in lines
    ]
    return TrailPage(items, older)


def _roles(rows: Iterable[TrailLine]) -> dict[UUID, str]:
    """What those who read from outside are to the club now: one query, where there are any."""
    readers = {row.by_id for row in rows if row.did == READ}
    roles_of_reader: dict[UUID, list[str]] = {}
    if readers:
        for member in ClubMember.objects.filter(user_id__in=readers).order_by("role"):
            roles_of_reader.setdefault(member.user_id, []).append(member.get_role_display().lower())
    return {user: ", ".join(sorted(set(roles))) for user, roles in roles_of_reader.items()}


def _things(rows: Iterable[TrailLine]) -> dict[tuple[str, UUID], str]:
    """The things that the lines are about, by kind and id: one query a kind."""
    wanted: dict[str, set[UUID]] = {}
    for row in rows:
        if row.on_kind in _words.named:
            wanted.setdefault(row.on_kind, set()).add(row.on_id)
    names = {}
    for kind, ids in wanted.items():
        naming = _words.named[kind]
        things = apps.get_model(kind)._default_manager.select_related(*naming.joined)
        for thing in things.filter(pk__in=ids):
            names[kind, thing.pk] = naming.words(thing)
    return names


def _names(rows: Iterable[TrailLine]) -> dict[str, str]:
    given = {row.detail[key] for row in rows for key in _PEOPLE if key in row.detail}
    ids = {person for person in given if _is_id(person)}
    return {str(user.pk): str(user) for user in User.objects.filter(pk__in=ids)} if ids else {}


def _what(row: TrailLine) -> str:
    if spoken := _words.spoken.get((row.did, row.on_kind)):
        return spoken
    try:
        kind = str(apps.get_model(row.on_kind)._meta.verbose_name)
    except LookupError:
        kind = row.on_kind.rpartition(".")[2]
    article = "an" if kind[:1] in "aeiou" else "a"
    return f"{row.did.replace('_', ' ')} {article} {kind}"


def _detail(row: TrailLine, names: dict[str, str], units: Units) -> str:
    if words := _words.detailed.get((row.did, row.on_kind)):
        return words(row.detail, units)
    parts = (_part(key, value, names) for key, value in row.detail.items())
    return "; ".join(part for part in parts if part)


def _part(key: str, value: Any, names: dict[str, str]) -> str:
    """One word of detail, or nothing: an id tells a reader nothing."""
    if key in _PEOPLE and _is_id(value):
        return names.get(value, "somebody")
    label = key.replace("_", " ")
    if isinstance(value, dict | list) and len(value) > MOST_WORDS:
        return f"{len(value)} {label}"
    if isinstance(value, dict):
        items = [f"{k} {_plain(v)}" for k, v in value.items() if not _is_id(k) and not _is_id(v)]
        return f"{label}: {', '.join(items)}" if items else ""
    written = "" if _is_id(value) else _plain(value)
    return f"{label}: {written}" if written else ""


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(map(str, value))
    text = "" if value is None else str(value)
    return text if len(text) <= LONGEST_WORD else text[: LONGEST_WORD - 1] + "…"


def _is_id(value: Any) -> bool:
    try:
        return isinstance(value, str) and bool(UUID(value))
    except ValueError:
        return False
