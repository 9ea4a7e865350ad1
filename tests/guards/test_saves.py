"""Saving a row names what it changes: without that the framework writes every column, and the
role may change a few."""

import ast
from pathlib import Path

from django.conf import settings

ROOMS = ("clubsetup", "teams", "cars", "events")
NAMED = {"update_fields", "force_insert"}
OTHERS = {
    "clubsetup/access/models/user.py": "makes a person, and has no other use",
    "clubsetup/access/passwords.py": "a form of allauth's",
    "events/demo/pictures.py": "a picture, not a row",
    "events/rules/photo.py": "a picture, not a row",
}


def nameless_saves(path: Path) -> list[int]:
    """The lines of this file that call `.save(...)` without saying what."""
    return [
        node.lineno
        for node in ast.walk(ast.parse(path.read_text()))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Attribute)
        and node.func.attr == "save"
        and not NAMED & {str(keyword.arg) for keyword in node.keywords}
    ]


def test_every_save_says_what_it_writes() -> None:
    house = Path(settings.BASE_DIR)
    found = {
        str(path.relative_to(house)): lines
        for room in ROOMS
        for path in sorted((house / room).rglob("*.py"))
        if "migrations" not in path.parts and (lines := nameless_saves(path))
    }
    assert {path: lines for path, lines in found.items() if path not in OTHERS} == {}
    assert set(OTHERS) <= set(found)
