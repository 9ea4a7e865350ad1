"""Which templates are pages: they extend a base and have a title."""

from pathlib import Path

HOUSE = Path(__file__).resolve().parent.parent.parent
APPS = ("clubsetup", "teams", "cars", "events")


def page_templates() -> set[str]:
    """Their names, as a view asks for them."""
    return {
        str(file).partition("/templates/")[2]
        for app in APPS
        for file in sorted((HOUSE / app).rglob("templates/**/*.html"))
        if "{% extends" in file.read_text()
    }
