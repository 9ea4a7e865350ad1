"""The tools of a step in templates."""

from django import template

from cars.pages.tools import tools_of

register = template.Library()


@register.simple_tag
def step_tools(step: str) -> list[tuple[str, str]]:
    """What can be worked out from the readings of a step."""
    return tools_of(step)
