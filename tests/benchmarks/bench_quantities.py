"""How long reading and writing one figure takes.

A full sheet is some eighty figures, each with its target and what it is off by: 240 to write.
"""

from decimal import Decimal

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityError, parse
from clubsetup.quantities.writing import show


@pytest.mark.parametrize(
    ("text", "kind"),
    [("46 5/16", Kind.LENGTH), ("11.5 psi", Kind.PRESSURE), ("318 lb 4 oz", Kind.MASS)],
)
def test_parse(benchmark: BenchmarkFixture, text: str, kind: Kind) -> None:
    assert benchmark(parse, text, kind).value > 0


def test_refuse(benchmark: BenchmarkFixture) -> None:
    def refuse() -> str:
        try:
            parse("46 9/7", Kind.LENGTH)
        except QuantityError as error:
            return error.message
        return ""

    assert benchmark(refuse)


@pytest.mark.parametrize(
    ("value", "unit"), [("1176.3375", "in"), ("1181", "in"), ("1176.3375", "mm")]
)
def test_show(benchmark: BenchmarkFixture, value: str, unit: str) -> None:
    assert benchmark(show, Decimal(value), Kind.LENGTH, unit=unit).bare
