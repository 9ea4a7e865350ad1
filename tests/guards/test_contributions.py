"""What the apps bring to the floors below: nothing that is written is left out of the lists."""

import gc
import importlib
import inspect
import pkgutil
from collections.abc import Collection, Iterator, Sequence
from datetime import date, datetime
from types import FunctionType, ModuleType
from typing import Any, get_type_hints
from uuid import UUID

import pytest
from django.apps import apps
from django.core.exceptions import ImproperlyConfigured

import cars
import clubsetup
import events
import teams
from cars.bench.presenters import car_sections
from cars.bench.presenters.car_sections import CarSection
from cars.exchange.presenters import record_exports
from cars.exchange.presenters.record_exports import RecordExport
from cars.exchange.queries import archive_kinds
from cars.exchange.queries.archive_kinds import ArchiveKind
from cars.garage.presenters import car_links, next_steps
from cars.garage.presenters.car_links import CarLink
from cars.garage.presenters.next_steps import NextSteps
from cars.history.queries import car_events
from cars.history.queries.car_events import CarEvent
from cars.models import Car, Sheet
from cars.plans.queries import class_limits
from cars.plans.queries.class_limits import ClassLimit
from cars.runs.queries import change_judges, entries_of_cars, run_entries
from cars.runs.queries.change_judges import ClassJudge
from cars.runs.queries.entries_of_cars import EntriesOfCars
from cars.runs.queries.run_entries import RunEntry
from cars.sheets.queries import at_track
from clubsetup.access.models import User
from clubsetup.printing import registry
from clubsetup.printing.registry import MadeFile
from clubsetup.site import start_sections
from clubsetup.site.contributions import contributed
from clubsetup.site.start_sections import Builder
from teams.presenters import driver_links, trail
from teams.presenters.driver_links import DriverLink
from teams.presenters.trail import TrailWords
from tests.printing.documents import TEAM_CARD

WORDS = {
    *("documents", "start_sections", "trail_words", "class_limits", "next_steps"),
    *("car_links", "car_sections", "run_entries", "figures_at_track", "change_judges"),
    *("driver_links", "car_events", "entries_of_cars"),
    *("archive_kinds", "record_exports"),
}
ROOMS = (clubsetup, teams, cars, events)


def modules() -> Iterator[ModuleType]:
    """Every module of ours but settings and migrations."""
    for package in ROOMS:
        for found in pkgutil.walk_packages(package.__path__, package.__name__ + "."):
            parts = found.name.split(".")
            if not {"migrations", "settings", "wsgi", "celery"} & set(parts):
                yield importlib.import_module(found.name)


MODULES = list(modules())


def documents_left_out() -> set[str]:
    """Keys of the documents of ours that somebody made and nobody can print."""
    # What a test that loads the web server's application had set aside comes back.
    gc.unfreeze()
    made = [one for one in gc.get_objects() if issubclass(type(one), MadeFile)]
    ours = {one.key for one in made if not one.title.__module__.startswith("tests.")}
    return ours - registry._kinds.keys()


def written(kind: type) -> list[Any]:
    """Everything of this kind that stands in a module of ours under a name."""
    return [one for module in MODULES for one in vars(module).values() if type(one) is kind]


def sections_left_out() -> set[str]:
    """Builders of a section of the start page that it does not know."""
    known = [id(builder) for builder in start_sections._builders]
    return {one.build.__name__ for one in written(Builder) if id(one) not in known}


def next_steps_left_out() -> set[str]:
    """What says what is next for a car and is not asked."""
    known = [id(one) for one in next_steps._known]
    return {one.build.__name__ for one in written(NextSteps) if id(one) not in known}


def trail_words_left_out() -> set[Any]:
    """What modules say of the trail's lines and the trail does not."""
    return {
        item
        for words in written(TrailWords)
        for part in ("spoken", "named", "detailed")
        for item in getattr(words, part)
        if item not in getattr(trail._words, part)
    }


def functions_left_out(
    takes: Sequence[str], hints: dict[str, Any], known: Sequence[Any], *but: Any
) -> set[str]:
    """Names of the functions of ours with these parameters and types that are not asked."""
    return {
        name
        for module in MODULES
        for name, one in vars(module).items()
        if type(one) is FunctionType
        and one.__module__ == module.__name__
        and one not in but
        and list(inspect.signature(one).parameters) == list(takes)
        and get_type_hints(one).items() >= hints.items()
    } - {one.__name__ for one in known if type(one) is FunctionType}


def providers_left_out() -> set[str]:
    """Functions that answer what a car's class asks for and are not asked."""
    asked = {"cars": Sequence[Car], "return": dict[UUID, ClassLimit]}
    known = class_limits._providers
    return functions_left_out(["cars"], asked, known, class_limits.class_limits)


def entries_of_cars_left_out() -> set[str]:
    """Where entries of cars are kept that no run is tied to."""
    lists = (one for module in MODULES for one in vars(module).values() if type(one) is tuple)
    made = {each for one in lists for each in one if type(each) is EntriesOfCars}
    return {each.offered.__name__ for each in made - set(entries_of_cars._known)}


def car_links_left_out() -> set[str]:
    """Where a car's page does not lead, though somebody wrote it in a list."""
    lists = (one for module in MODULES for one in vars(module).values() if type(one) is list)
    made = {each for one in lists for each in one if type(each) is CarLink}
    return {each.says for each in made - set(car_links._known)}


def driver_links_left_out() -> set[str]:
    """Where a driver's page does not lead, though somebody wrote it in a list."""
    lists = (one for module in MODULES for one in vars(module).values() if type(one) is list)
    made = {each for one in lists for each in one if type(each) is DriverLink}
    return {each.says for each in made - set(driver_links._known)}


def car_sections_left_out() -> set[str]:
    """Functions that say something of a car on its page and are not asked."""
    return functions_left_out(
        ["car", "team", "viewer", "step"], {"return": CarSection | None}, car_sections._known
    )


def run_entries_left_out() -> set[str]:
    """Functions that answer what runs were entered for and are not asked."""
    asked = {"runs": Collection[UUID], "return": dict[UUID, RunEntry]}
    known = run_entries._providers
    return functions_left_out(["runs"], asked, known, run_entries.run_entries)


def car_events_left_out() -> set[str]:
    """Functions that answer which events a car was entered at and are not asked."""
    asked = {"car": Car, "first": date, "last": date, "return": list[CarEvent]}
    known = car_events._providers
    takes = ["car", "first", "last"]
    return functions_left_out(takes, asked, known, car_events.car_events)


def figures_at_track_left_out() -> set[str]:
    """Functions that answer what a car should read after a day at the track and are not asked."""
    asked = {"sheet": Sheet, "viewer": User, "until": datetime, "return": at_track.FiguresNow}
    return functions_left_out(["sheet", "viewer", "until"], asked, at_track._providers)


def change_judges_left_out() -> set[str]:
    """Functions that answer what a class says of a change and are not asked."""
    takes, asked = ["sheet", "figures", "units"], {"return": ClassJudge | None}
    return functions_left_out(takes, asked, change_judges._providers, change_judges.class_judge)


def archive_kinds_left_out() -> set[str]:
    """Kinds of rows that somebody wrote down and no archive holds."""
    lists = (one for module in MODULES for one in vars(module).values() if type(one) is tuple)
    made = {id(each): each for one in lists for each in one if type(each) is ArchiveKind}
    return {each.name for each in made.values() if each not in archive_kinds._kinds}


def record_exports_left_out() -> set[str]:
    """Functions that know official records to be taken away and are not asked."""
    asked = {"viewer": User, "return": list[RecordExport]}
    return functions_left_out(["viewer"], asked, record_exports._providers)


LEFT_OUT = {
    "archive_kinds": archive_kinds_left_out,
    "record_exports": record_exports_left_out,
    "figures_at_track": figures_at_track_left_out,
    "change_judges": change_judges_left_out,
    "car_links": car_links_left_out,
    "driver_links": driver_links_left_out,
    "car_sections": car_sections_left_out,
    "documents": documents_left_out,
    "start_sections": sections_left_out,
    "trail_words": trail_words_left_out,
    "class_limits": providers_left_out,
    "next_steps": next_steps_left_out,
    "run_entries": run_entries_left_out,
    "car_events": car_events_left_out,
    "entries_of_cars": entries_of_cars_left_out,
}
COLLECT = {
    "archive_kinds": archive_kinds.collect,
    "record_exports": record_exports.collect,
    "figures_at_track": at_track.collect,
    "change_judges": change_judges.collect,
    "car_links": car_links.collect,
    "driver_links": driver_links.collect,
    "car_sections": car_sections.collect,
    "documents": registry.collect,
    "start_sections": start_sections.collect,
    "trail_words": trail.collect,
    "class_limits": class_limits.collect,
    "next_steps": next_steps.collect,
    "run_entries": run_entries.collect,
    "car_events": car_events.collect,
    "entries_of_cars": entries_of_cars.collect,
}
BROUGHT = [(app.label, word) for app in apps.get_app_configs() for word in WORDS & set(dir(app))]
OURS = [one for one in BROUGHT if one[0] in ("teams", "cars", "events")]


@pytest.fixture(autouse=True)
def _collected_again() -> Iterator[None]:
    yield
    for collect in COLLECT.values():
        collect()


@pytest.mark.parametrize("word", sorted(WORDS))
def test_nothing_is_left_out(word: str) -> None:
    assert not LEFT_OUT[word]()


@pytest.mark.parametrize(("label", "word"), sorted(OURS))
def test_what_an_app_does_not_list_is_seen(
    monkeypatch: pytest.MonkeyPatch, label: str, word: str
) -> None:
    monkeypatch.setattr(apps.get_app_config(label), word, ())
    COLLECT[word]()
    left_out = LEFT_OUT[word]()
    monkeypatch.undo()
    assert left_out


def test_every_word_has_somebody_who_brings_it() -> None:
    assert {word for _, word in OURS} == WORDS == LEFT_OUT.keys() == COLLECT.keys()


def test_lower_floors_come_first() -> None:
    told = [words.named.keys() for words in contributed("trail_words")]
    assert ["teams.driver" in one for one in told] == [True, False, False]
    assert ["cars.car" in one for one in told] == [False, True, False]


@pytest.mark.parametrize("word", ["documents", "start_sections", "trail_words", "next_steps"])
def test_nothing_is_brought_twice(monkeypatch: pytest.MonkeyPatch, word: str) -> None:
    label = next(label for label, brought in OURS if brought == word)
    app = apps.get_app_config(label)
    monkeypatch.setattr(app, word, getattr(app, word) * 2)
    with pytest.raises(ImproperlyConfigured):
        COLLECT[word]()
    monkeypatch.undo()


def test_a_path_that_leads_nowhere_stops_the_start(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(apps.get_app_config("events"), "documents", ("events.prints.DOCUMENTS",))
    with pytest.raises(ImportError):
        registry.collect()
    monkeypatch.undo()


def test_the_tests_own_documents_come_the_same_way() -> None:
    assert registry.document_for(TEAM_CARD.key) is TEAM_CARD
