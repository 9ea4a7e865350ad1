"""The tools of a step in templates."""

from django import template

from cars.plans.pages.tools import TOOLS, car_tools_of, tools_of

register = template.Library()


@register.simple_tag
def sheet_tools() -> list[tuple[str, str]]:
    """What can be worked out from the readings of a sheet."""
    return TOOLS


@register.simple_tag
def step_tools(step: str) -> list[tuple[str, str]]:
    """What can be worked out from the readings of a step."""
    return tools_of(step)


@register.simple_tag
def step_car_tools(step: str) -> list[tuple[str, str]]:
    """What can be worked out from the car beside the readings of a step."""
    return car_tools_of(step)
