"""What the history prints: sheets side by side, a car's season, its book of all of them, and a
school day."""

from collections.abc import Callable, Sequence
from datetime import tzinfo

from django.conf import settings
from django.http import Http404
from django.template.loader import render_to_string
from django.utils import timezone

from cars.history.actions.comparisons import DOCUMENT
from cars.history.presenters.car_history import changed_words, show_history
from cars.history.presenters.comparison import show_comparison
from cars.history.presenters.school_days import car_pages, day_title, outing_lines
from cars.history.presenters.seasons import show_season
from cars.history.queries.car_history import USUAL, car_history, changed_most, seasons_of
from cars.history.queries.comparison import compare_sheets, sheets_named
from cars.history.queries.laps_by_track import nights_of
from cars.history.queries.school_days import outings_of
from cars.models import Car, Comparison, SchoolDay
from clubsetup.access.errors import Invalid
from clubsetup.access.models import User
from clubsetup.printing.registry import Document
from teams.queries.clocks import today_of

Title = Callable[[Car], str]
Html = Callable[[Car, User], str]
ON_PAPER = (336.0, 123.2)  # of a plot, CSS pixels: two stand side by side


def title(comparison: Comparison) -> str:
    """The print's title, and its file's name."""
    return str(comparison)


def comparison_html(comparison: Comparison, viewer: User) -> str:
    """As the page has it, across the paper where there are more than four."""
    try:
        compared = compare_sheets(comparison.sheets)
    except Invalid as gone:
        raise Http404(gone.message) from gone
    # A paper lies about, and outlives the right to see the codes of parts.
    view = show_comparison(compared, viewer, with_parts=False)
    context = {"view": view, "title": title(comparison), "paper": settings.PRINT_PAPER}
    return render_to_string("cars/history/comparison_paper.html", context)


def season_title(car: Car) -> str:
    """The print's title, and its file's name."""
    return f"Season, car {car.number}"


def season_html(car: Car, viewer: User) -> str:
    """The newest season: what it came to, cross and a height over it, the nights by track."""
    newest = next(iter(seasons_of(car)), today_of(viewer).year)
    return _seasons_html(car, viewer, [newest], season_title(car))


def book_title(car: Car) -> str:
    """The print's title, and its file's name."""
    return f"History book, car {car.number}"


def book_html(car: Car, viewer: User) -> str:
    """Every season, the newest first, each on a page of its own."""
    return _seasons_html(car, viewer, seasons_of(car), book_title(car))


def _seasons_html(car: Car, viewer: User, seasons: Sequence[int], title: str) -> str:
    units = viewer.units(car.team.club.units())
    pages = [
        {
            "season": season,
            "history": show_history(car_history(car, USUAL, season), units, shown=ON_PAPER),
            "shown": show_season(nights_of(car, season), units, shown=ON_PAPER),
            "changed": changed_words(changed_most(car, season)),
        }
        for season in seasons
    ]
    context = {"car": car, "title": title, "pages": pages}
    return render_to_string("cars/history/season_paper.html", context)


def school_day_html(school_day: SchoolDay, viewer: User) -> str:
    """The whole day for its coach; a family's paper has its own outings alone."""
    context = {
        "school_day": school_day,
        "when": day_title(school_day),
        "title": str(school_day),
        "lines": outing_lines(outings_of(school_day)),
    }
    return render_to_string("cars/history/school_day_paper.html", context)


def school_day_cars_html(school_day: SchoolDay, viewer: User) -> str:
    """A page a car: when it goes out, who drives, and every figure it is set to."""
    context = {
        "school_day": school_day,
        "when": day_title(school_day),
        "title": f"{school_day}, a page a car",
        "pages": car_pages(outings_of(school_day), viewer),
    }
    return render_to_string("cars/history/school_day_cars_paper.html", context)


def _of_school_day(key: str, name: str, html: Callable[[SchoolDay, User], str]) -> Document:
    return Document(
        key=key,
        name=name,
        model=SchoolDay,
        title=lambda row: f"{name}, {row}",
        html=html,
        clock=lambda row: row.club.zone(),
        styles=(
            *("cars/sheets/paper.css", "cars/sheets/setup_sheet.css"),
            "cars/history/school_day_paper.css",
        ),
    )


def _clock(comparison: Comparison) -> tzinfo:
    first = next(iter(sheets_named(comparison.sheets[:1])), None)
    return first.team.club.zone() if first else timezone.get_default_timezone()


def _of_car(key: str, name: str, title: Title, html: Html, *, in_archive: bool) -> Document:
    return Document(
        key=key,
        name=name,
        model=Car,
        title=title,
        html=html,
        clock=lambda car: car.team.club.zone(),
        styles=("cars/sheets/paper.css", "cars/history/season_paper.css"),
        in_archive=in_archive,
    )


DOCUMENTS = (
    _of_car("car-season", "Season", season_title, season_html, in_archive=False),
    _of_car("car-book", "History book", book_title, book_html, in_archive=True),
    _of_school_day("school-day", "School day", school_day_html),
    _of_school_day("school-day-cars", "School day, a page a car", school_day_cars_html),
    Document(
        key=DOCUMENT,
        name="Comparison",
        model=Comparison,
        title=title,
        html=comparison_html,
        clock=_clock,
        styles=("cars/sheets/paper.css", "cars/history/comparison_paper.css"),
    ),
)
