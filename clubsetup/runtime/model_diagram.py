"""What is kept and how it hangs together, as text with diagrams, drawn from the models themselves.

Whoever did or wrote something is a column of nearly every table; drawn, these lines would hide all
others, so that outside `access` they stand in the table under the diagram. A column that a row only
copies from its parent, for row security to look at (`SameParent`), is not drawn.
"""

from collections.abc import Iterator
from itertools import chain
from typing import Any

from django.apps import AppConfig, apps
from django.db.models import Model
from django.db.models.fields.related import ForeignKey, ManyToManyField

HEAD = """# What is kept

Drawn from the models by `uv run manage.py draw_models`; a test holds it to them
(`tests/guards/test_model_diagram.py`). A line's word is the name of the column. `||` is exactly
one, `o|` one or none, `o{` any number. Left out are columns that only copy the team or the club of
the row above, and whoever did it, who stands in the tables.
"""
ROOMS = ("access", "printing", "teams", "cars", "events")
PERSON = "access.User"


def model_diagrams() -> str:
    """The whole text: a diagram and a table for each app of ours that keeps something."""
    return "\n".join([HEAD, *(_of_app(apps.get_app_config(room)) for room in ROOMS)])


def _of_app(app: AppConfig) -> str:
    models = sorted(app.get_models(), key=lambda model: model.__name__)
    lines = sorted(set(chain.from_iterable(_lines(model) for model in models)))
    drawn = {word for line in lines for word in line.split()}
    alone = [f"    {model.__name__}" for model in models if model.__name__ not in drawn]
    diagram = ["```mermaid", "erDiagram", *lines, *alone, "```"]
    table = ["| | holds | people it names |", "|---|---|---|", *map(_row, models)]
    return "\n".join([f"## {app.name.replace('.', '/')}/", "", *diagram, "", *table, ""])


def _relations(model: type[Model]) -> Iterator[Any]:
    for field in model._meta.get_fields():
        if isinstance(field, ForeignKey | ManyToManyField):
            yield field


def _names_a_person(field: Any) -> bool:
    to_a_person: bool = field.remote_field.model._meta.label == PERSON
    return to_a_person and bool(field.model._meta.app_label != "access")


def _lines(model: type[Model]) -> Iterator[str]:
    # By attribute, because row security stands on the floor above.
    copied = {getattr(constraint, "shared", "") for constraint in model._meta.constraints}
    for field in _relations(model):
        if _names_a_person(field) or field.column in copied:
            continue
        if isinstance(field, ManyToManyField):
            ends = "}o--o{"
        else:
            ends = ("|o" if field.unique else "}o") + "--" + ("o|" if field.null else "||")
        yield f"    {model.__name__} {ends} {field.remote_field.model.__name__} : {field.name}"


def _row(model: type[Model]) -> str:
    people = ", ".join(f"`{field.name}`" for field in _relations(model) if _names_a_person(field))
    holds = " ".join((model.__doc__ or "").split("\n\n")[0].split())
    return f"| {model.__name__} | {holds.replace('|', '/')} | {people} |"
