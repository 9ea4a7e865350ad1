"""Shows every page of the site in pictures: one contact sheet a page, on a phone and at a desk.

    uv run python -m tests.pictures --out pictures            # all; a quarter of an hour
    uv run python -m tests.pictures --out pictures --only start car
    uv run python -m tests.pictures --readme                  # the README's own

Each sheet has the page of the demo's club and that of a club that just began. The page of a layout
is there by night too, and on two more widths. The end says which pages scroll sideways, which
were not shown, and which templates of pages no picture is of.
"""

import argparse
import sys
from pathlib import Path

from tests.benchmarks.demo_server import demo_server

# isort: split
from django.conf import settings
from django.db import connections

from clubsetup.access.viewer import signing_in
from clubsetup.runtime.passwords import SUPERUSER
from tests.migrated import DEMO
from tests.people import browser_of
from tests.pictures.pages import Page, pages_of
from tests.pictures.readme import Takes
from tests.pictures.rows import Rows, State, make_rows
from tests.pictures.serving import serving
from tests.pictures.shooting import Photographer, Report, chromium
from tests.pictures.templates import NOT_SHOWN, page_templates

TINY = ("start, chief", "bench-step, ride-heights", "account_login")


def main() -> int:
    """Zero where every page was shown and none scrolls sideways."""
    options = _options()
    if not options.readme:
        options.out.mkdir(parents=True, exist_ok=True)
    with demo_server(0) as server:
        rows = make_rows(server.url(DEMO, SUPERUSER))
        pages = _chosen(pages_of(rows), options)
        cookies = sign_in_everybody(rows)
        connections.close_all()
        rendered: set[str] = set()
        with serving(rendered) as site, chromium() as browser:
            if options.readme:
                Takes(browser, site, cookies).all(rows["full"])
                return 0
            photographer = Photographer(browser, site, cookies, options.out)
            for page in pages:
                photographer.shoot(page)
    say(
        photographer.report,
        page_templates() - rendered - set(NOT_SHOWN) if not _is_part(options) else set(),
    )
    return 1 if _is_wrong(photographer.report) else 0


def _options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=Path("pictures"), help="the folder")
    parser.add_argument("--only", nargs="+", default=(), help="the first words of some pages")
    parser.add_argument("--readme", action="store_true", help="only the README's pictures")
    parser.add_argument("--tiny", action="store_true", help="three pages")
    return parser.parse_args()


def _is_part(options: argparse.Namespace) -> bool:
    return bool(options.only or options.tiny)


def _chosen(pages: list[Page], options: argparse.Namespace) -> list[Page]:
    if options.tiny:
        return [page for page in pages if page.name in TINY]
    if options.only:
        return [page for page in pages if page.name.startswith(tuple(options.only))]
    return pages


def sign_in_everybody(rows: dict[State, Rows]) -> dict[str, str]:
    """The session of each, by who they are in the pages."""
    found = {}
    for of in rows.values():
        for who, person in of.people.items():
            with signing_in(person=person.pk):
                found[who] = browser_of(person).cookies[settings.SESSION_COOKIE_NAME].value
    return found


def say(report: Report, unseen: set[str]) -> None:
    """The report, in lines."""
    lines = [f"{len(report.shown)} pages shown"]
    for head, found in (
        ("scroll sideways", report.too_wide),
        ("not shown", report.not_shown),
        ("went wrong in the browser", report.problems),
        ("templates without a picture", sorted(unseen)),
    ):
        lines += [f"{head}: {len(found)}", *(f"  {line}" for line in found)]
    sys.stdout.write("\n".join(lines) + "\n")


def _is_wrong(report: Report) -> bool:
    return not report.shown or bool(report.too_wide or report.not_shown or report.problems)


if __name__ == "__main__":
    sys.exit(main())
