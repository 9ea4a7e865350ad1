"""`--tiny`, for a run that tells nothing of speed: of each benchmark one round on little data."""

from decimal import Decimal

import pytest

from tests.benchmarks import sizes


def pytest_addoption(parser: pytest.Parser) -> None:
    """Known where a benchmark is run by its path."""
    parser.addoption("--tiny", action="store_true", help="one round of each benchmark, little data")


@pytest.hookimpl(tryfirst=True)
def pytest_configure(config: pytest.Config) -> None:
    """Before any benchmark is imported, and before pytest-benchmark reads its options."""
    sizes.tiny = bool(config.getoption("--tiny", default=False))
    if sizes.tiny:
        config.option.benchmark_min_rounds = 1
        config.option.benchmark_max_time = config.option.benchmark_min_time = Decimal("0.0001")
