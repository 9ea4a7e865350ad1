"""The committed diagram is the one that the models give today, and leaves none of them out."""

import io
from pathlib import Path
from typing import Any

from django.apps import apps
from django.core.management import call_command

from clubsetup.runtime.model_diagram import ROOMS, model_diagrams

HOUSE = Path(__file__).resolve().parents[2]
HOUSES = ("clubsetup", "teams", "cars", "events")


def _part(text: str, room: str) -> str:
    name = apps.get_app_config(room).name.replace(".", "/")
    return text.split(f"## {name}/\n")[1].split("\n## ", maxsplit=1)[0]


def test_the_committed_text_is_up_to_date() -> None:
    committed = (HOUSE / "clubsetup" / "MODELS.md").read_text()
    assert committed == model_diagrams(), "run `uv run manage.py draw_models` and commit"


def test_every_model_of_ours_is_drawn_and_described() -> None:
    text = model_diagrams()
    ours = [app for app in apps.get_app_configs() if app.name.split(".")[0] in HOUSES]
    assert {app.label for app in ours if list(app.get_models())} == set(ROOMS)
    for room in ROOMS:
        diagram, table = _part(text, room).split("```\n", 1)
        for model in apps.get_app_config(room).get_models():
            assert f" {model.__name__}" in diagram, model
            row = next(line for line in table.splitlines() if f"| {model.__name__} |" in line)
            assert row.split("|")[2].strip(), f"{model} says nothing of what it holds"


def test_relations_say_how_many() -> None:
    diagram, table = _part(model_diagrams(), "cars").split("```\n", 1)
    assert "    Reading }o--|| Sheet : sheet\n" in diagram
    assert "    Reading }o--o| Reading : carried_from\n" in diagram
    assert "    PartCode |o--|| Part : part\n" in diagram
    assert " User" not in diagram
    assert "Reading }o--|| Team" not in diagram  # copied from the sheet
    assert "`by`, `replaced_by` |" in table


def test_the_command_writes_it(tmp_path: Path, settings: Any) -> None:
    (tmp_path / "clubsetup").mkdir()
    settings.BASE_DIR = tmp_path
    call_command("draw_models", stdout=io.StringIO())
    assert (tmp_path / "clubsetup" / "MODELS.md").read_text() == model_diagrams()
