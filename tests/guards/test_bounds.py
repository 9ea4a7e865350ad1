"""Nothing is typed, sent or kept that nobody has said how much it can be."""

import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
from django import forms
from django.apps import apps
from rest_framework import serializers

import cars
import clubsetup
import events
import teams
from cars.catalogue.sync import read_catalogue
from clubsetup.quantities.reading import QuantityLimits, parse
from clubsetup.site.api_fields import TypedQuantity
from clubsetup.site.forms import QuantityInput
from clubsetup.site.model_fields import QuantityField

# Their boxes are made from a rule's parameters, whose bounds tests/rules/test_rule_bounds.py holds.
BY_RULE = {"RuleForm"}


def modules() -> Iterator[Any]:
    """Every module of the service but its migrations and settings."""
    for root in (clubsetup, teams, cars, events):
        for found in pkgutil.walk_packages(root.__path__, f"{root.__name__}."):
            if not re.search(r"migrations|settings|wsgi|celery|management", found.name):
                yield importlib.import_module(found.name)


def classes(kind: type) -> dict[str, Any]:
    """Every class of that kind that the service defines."""
    found = {}
    for module in modules():
        for name, one in inspect.getmembers(module, inspect.isclass):
            if issubclass(one, kind) and one.__module__ == module.__name__:
                found[f"{module.__name__}.{name}"] = one
    return found


FORMS = classes(forms.BaseForm)
SERIALIZERS = classes(serializers.Serializer)


def boxes() -> list[tuple[str, QuantityInput]]:
    return [
        (f"{name}.{box}", field)
        for name, form in FORMS.items()
        for box, field in form.base_fields.items()
        if isinstance(field, QuantityInput)
    ]


def sent() -> list[tuple[str, TypedQuantity]]:
    return [
        (f"{name}.{box}", field)
        for name, one in SERIALIZERS.items()
        for box, field in one._declared_fields.items()
        if isinstance(field, TypedQuantity) and not field.read_only
    ]


def kept() -> list[tuple[str, QuantityField]]:
    return [
        (f"{model.__name__}.{field.name}", field)
        for model in apps.get_models()
        for field in model._meta.concrete_fields
        if isinstance(field, QuantityField)
    ]


def whole(limits: QuantityLimits | None) -> bool:
    return limits is not None and None not in (limits.low, limits.high) and bool(limits.name)


def test_every_box_for_a_quantity_has_both_bounds() -> None:
    found = boxes()
    assert len(found) > 25
    assert [name for name, box in found if not whole(box.limits)] == []


def test_so_has_whatever_is_sent_to_the_api() -> None:
    found = sent()
    assert len(found) > 30
    assert [name for name, field in found if not whole(field.limits)] == []


def test_so_has_whatever_is_kept() -> None:
    found = kept()
    assert len(found) > 15
    assert [name for name, field in found if not whole(field.limits)] == []


@pytest.mark.parametrize("name", sorted({name.rpartition(".")[2] for name, _ in sent()}))
def test_page_api_and_table_know_the_same_bounds(name: str) -> None:
    """A name in a form and the same one in the API of its room speak of one thing."""

    def of(found: list[Any]) -> dict[str, set[Any]]:
        rooms: dict[str, set[Any]] = {}
        for path, field in found:
            if path.rpartition(".")[2] == name:
                rooms.setdefault(path.partition(".")[0], set()).add(field.limits)
        return rooms

    pages, api = of(boxes()), of(sent())
    for room in pages.keys() & api.keys():
        assert pages[room] <= api[room], room


def test_a_box_cannot_be_made_without() -> None:
    with pytest.raises(TypeError, match="limits"):
        QuantityInput(kind="mass")  # type: ignore[call-arg, arg-type]
    with pytest.raises(TypeError, match="limits"):
        TypedQuantity(kind="mass")  # type: ignore[arg-type]


def test_every_measure_that_is_a_figure_has_both_bounds() -> None:
    _, measures = read_catalogue()
    assert [m.slug for m in measures if m.kind and None in (m.low, m.high)] == []


def examples() -> list[tuple[str, QuantityInput, str]]:
    found = []
    for name, box in boxes():
        said = re.search(r"[Aa]s in (.+?)\.?$", str(box.help_text).split(". ")[0])
        if said:
            texts = re.split(r", | or ", said[1])
            found += [(f"{name}: {text}", box, text) for text in texts]
    return found


@pytest.mark.parametrize(("box", "text"), [e[1:] for e in examples()], ids=lambda e: str(e)[:40])
def test_every_box_takes_its_own_examples(box: QuantityInput, text: str) -> None:
    assert parse(text, box.kind, units=box.units, limits=box.limits).value > Decimal(-1000)


def test_there_are_examples() -> None:
    assert any("1/20 mi" in name for name, *_ in examples())
