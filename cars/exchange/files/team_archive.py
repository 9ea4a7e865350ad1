"""Everything a team owns, put into a folder: JSON, XLSX, its prints."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from django.utils import timezone
from django.utils.text import slugify

from cars.exchange.files.archive_json import FILE as JSON_FILE
from cars.exchange.files.archive_json import ArchiveJson, plain
from cars.exchange.files.archive_xlsx import FILE as XLSX_FILE
from cars.exchange.files.archive_xlsx import ArchiveWorkbook
from cars.exchange.queries.archive_kinds import Section, archive_kinds, measure_units
from cars.exchange.queries.archive_prints import ArchivePrint, prints_of
from cars.exchange.queries.archive_rows import Names, Pointed, chunks_of, figures_by_sheet
from cars.models import Car, Measure, Sheet
from clubsetup.access.models import User
from clubsetup.printing.render import render
from teams.models import Team
from teams.queries.roles import roles_of

README = """{title}

Made on {day} (UTC) by {who}.

team.json   all rows, for another program or another service of this kind; its schema is at
            /exports/team-archive.schema.json, at the service it comes from
team.xlsx   the same as a spreadsheet, a sheet a kind; 'figures' has the figures of each sheet
            side by side. Nothing in it is a formula.
prints/     what was printed, and the newest setup sheet of each car
photos/     pictures that officials took of the team's ballast, by their SHA-256; they are copies
            to look at, and do not come in again with the rows

It holds what is a child's: keep it as you keep a family's papers, and hand on no more than is
needed. Weigh-ins and findings in it are copies to read; the official record is the club's.
The chassis maker's instructions, the club's rulebook and its officials decide, not this file.
"""


def gather_archive(team: Team, viewer: User, folder: Path) -> Callable[[], None]:
    """Reads all that `viewer` may see of the team; what it returns makes the rest."""
    made_at = timezone.now()
    names = Names([kind.model for kind in archive_kinds(Section.CLUB)])
    measures = measure_units()
    head = {
        "made_at": plain(made_at),
        "made_by": {"id": str(viewer.pk), "name": viewer.name},
        "seen_as": seen_as(viewer, team),
        "team": {"id": str(team.pk), "name": team.name},
        "club": {
            "id": str(team.club_id),
            "name": team.club.name,
            "short_name": team.club.short_name,
            "time_zone": team.club.time_zone,
        },
        "measures": measures,
    }
    book = ArchiveWorkbook(folder / XLSX_FILE, names, measures)
    with (folder / JSON_FILE).open("w", encoding="utf-8") as out:
        _write_rows(team, ArchiveJson(out, head), book)
    _write_figures(team, book)
    words = {
        "title": f"{team.name}, {team.club.name}",
        "day": made_at.isoformat(" ", "minutes")[:16],
    }
    (folder / "README.txt").write_text(README.format(who=viewer, **words), encoding="utf-8")
    _write_pictures(team, folder / "photos")
    prints = list(prints_of(team, viewer))
    return lambda: _finish(book, prints, folder)


def seen_as(viewer: User, team: Team) -> str:
    """As what they may have it."""
    return "crew" if roles_of(viewer).is_crew(team.pk) else "coach"


def _write_rows(team: Team, text: ArchiveJson, book: ArchiveWorkbook) -> None:
    pointed = Pointed()
    # The club's last: by then it is known what the others point at.
    for section in (Section.TEAM, Section.RECORD, Section.CLUB):
        text.begin_section(section)
        for kind in archive_kinds(section):
            text.add_kind(kind)
            book.begin_kind(kind)
            for rows in chunks_of(kind, team.pk, pointed):
                text.add(rows)
                book.add(rows)
            text.end_kind()
        text.end_section()
    text.end()


def _write_pictures(team: Team, folder: Path) -> None:
    """One after the other: they are never in memory together."""
    kinds = [kind for section in Section for kind in archive_kinds(section) if kind.pictures]
    for kind in kinds:
        rows = kind.of_team(team.pk).order_by("pk").values_list(*(kind.pictures or ()))
        for name, content in rows.iterator(1):
            folder.mkdir(exist_ok=True)
            (folder / f"{name}.jpg").write_bytes(content)


def _write_figures(team: Team, book: ArchiveWorkbook) -> None:
    """A row a sheet, a column a box, so that a spreadsheet can plot it."""
    units = measure_units()
    boxes = [(f"{one.pk}.{spot}", one, spot) for one in _taken() for spot in one.spots]
    headers = [
        f"{one.name} {spot}" + (f" ({units[one.pk]['unit']})" if units[one.pk]["unit"] else "")
        for _, one, spot in boxes
    ]
    book.begin_sheet("figures", ["sheet", "car", "what", "day", "version", *headers])
    sheets = {
        pk: values for pk, *values in Sheet.objects.filter(team=team).values_list(*_OF_A_SHEET)
    }
    cars = {car.pk: str(car) for car in Car.objects.filter(pk__in={v[0] for v in sheets.values()})}
    for pk, figures in figures_by_sheet(team.pk):
        car, role, day, version = sheets[pk]
        cells = (figures.get(name) for name, *_ in boxes)
        book.add_row([pk, cars.get(car, car), Sheet.Role(role).label, day, version, *cells])


_OF_A_SHEET = ("pk", "car_id", "role", "made_on", "version")


def _taken() -> Iterator[Measure]:
    yield from Measure.objects.exclude(taken="derived").order_by("step__order", "order")


def _finish(book: ArchiveWorkbook, prints: list[ArchivePrint], folder: Path) -> None:
    """With no transaction open: packing the workbook, rendering."""
    book.close()
    (folder / "prints").mkdir(exist_ok=True)
    taken: dict[str, Any] = {}
    for one in prints:
        name = slugify(one.title)[:100] or "print"
        taken[name] = taken.get(name, 0) + 1
        again = f"-{taken[name]}" if taken[name] > 1 else ""
        content = render(one.source).content if one.source else one.stored()
        if content:
            (folder / "prints" / f"{name}{again}.pdf").write_bytes(content)
