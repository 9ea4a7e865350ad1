"""How many examples a property is tried with, by the profile that was chosen.

`uv run pytest --hypothesis-profile=full` tries ten times as many as a usual run, `fast` a tenth,
which `-m fast` takes by itself; `mutants` too, where one process runs the tests again and again
(.ci/mutants.py). In every profile no example has a deadline and slowness is no
failure: how long an example takes says how busy the machine is, and nothing of the code.
"""

from hypothesis import HealthCheck, Phase, settings

USUAL = 100  # the library's own
SHARES = {"any machine": 1.0, "fast": 0.1, "mutants": 0.1, "full": 10.0}
FEWEST = 5


def register_profiles() -> None:
    """The profiles, and the usual one loaded."""
    for name, share in SHARES.items():
        settings.register_profile(
            name,
            deadline=None,
            suppress_health_check=[HealthCheck.too_slow],
            max_examples=round(USUAL * share),
        )
    # The same tests again and again in one process, and nobody reads what made them fail.
    settings.register_profile(
        "mutants",
        settings.get_profile("mutants"),
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.differing_executors],
        phases=[Phase.explicit, Phase.generate],
        database=None,
    )
    settings.load_profile("any machine")


def examples(usual: int) -> int:
    """For a property that wants more or fewer than others: so many in a usual run."""
    share = SHARES.get(settings.get_current_profile_name(), 1.0)
    return max(min(FEWEST, usual), round(usual * share))
