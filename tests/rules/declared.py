"""Every rule that can be declared, for Hypothesis to draw from."""

from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from clubsetup.quantities.units import Units
from events.rules import KINDS, ParameterError
from events.rules.base import RuleKind
from events.rules.parameters import Parameter

TEXTS = {
    "measure": st.sampled_from(
        ["wheelbase", "ride-height", "circumference", "track-width", "rear-bar", "chain-slack"]
    ),
    "places": st.lists(
        st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=12),
        max_size=6,
    ).map(lambda places: ",".join(places)[:120]),
}
UNITS = st.sampled_from(
    [Units.imperial(), Units.metric(), Units(length="cm", mass="kg"), Units(length="mm")]
)


def parameter(name: str, asked: Parameter) -> st.SearchStrategy[Any]:
    """What may be sent for a parameter: what its bounds let through, and a little beside them."""
    if asked.sort == "yes_no":
        return st.booleans()
    if asked.sort == "choice":
        return st.sampled_from(asked.choices)
    if asked.sort == "text":
        return TEXTS[name]
    assert asked.bounds is not None, name
    low, high = asked.bounds.low, asked.bounds.high
    if asked.sort == "whole":
        return st.integers(int(low) - 2, int(high) + 2)
    within = st.decimals(low, high, places=4) | st.sampled_from([low, high])
    beyond = st.sampled_from([low - Decimal("0.001"), high + Decimal("0.001"), low - low, 9 * high])
    return within | beyond


@st.composite
def sent(draw: st.DrawFn, kind: type[RuleKind]) -> dict[str, Any]:
    """A JSON object for a kind, some of its parameters left out."""
    given = {}
    for name, asked in kind.parameters().items():
        if draw(st.integers(0, 3)):
            value = draw(parameter(name, asked))
            given[name] = str(value) if isinstance(value, Decimal) else value
    return given


@st.composite
def rules(draw: st.DrawFn) -> RuleKind:
    """A rule that was accepted."""
    kind = draw(st.sampled_from(sorted(KINDS.values(), key=lambda one: one.kind)))

    def accepted(given: dict[str, Any]) -> list[RuleKind]:
        try:
            return [kind.declare(given)]
        except ParameterError:
            return []

    (rule,) = draw(sent(kind).map(accepted).filter(bool))
    return rule
