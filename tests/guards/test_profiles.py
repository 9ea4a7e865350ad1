"""The profiles of the properties: none fails a slow machine, and each tries what it says."""

from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, settings

from tests.examples import SHARES, examples


@pytest.mark.parametrize("name", SHARES)
def test_no_profile_fails_a_slow_machine(name: str) -> None:
    profile = settings.get_profile(name)
    assert profile.deadline is None
    assert HealthCheck.too_slow in profile.suppress_health_check


@pytest.fixture
def _the_profile_comes_back() -> Iterator[None]:
    before = settings.get_current_profile_name()
    yield
    settings.load_profile(before)


@pytest.mark.usefixtures("_the_profile_comes_back")
@pytest.mark.parametrize(("name", "many", "few"), [("fast", 30, 3), ("full", 3000, 30)])
def test_a_property_with_a_number_of_its_own_follows(name: str, many: int, few: int) -> None:
    settings.load_profile(name)
    assert (examples(300), examples(3)) == (many, few)
