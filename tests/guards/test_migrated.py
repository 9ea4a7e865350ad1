"""A migrated database that is kept is taken for made only while what it was made of stands."""

from pathlib import Path

import pytest

from tests import migrated


def test_it_is_made_anew_where_a_migration_is_another(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    folder, house = tmp_path / "database", tmp_path / "house"
    migration = house / "cars" / "migrations" / "0001_first.py"
    migration.parent.mkdir(parents=True)
    migration.write_text("first")
    monkeypatch.setattr(migrated, "HOUSE", house)
    monkeypatch.setattr(migrated, "MADE_OF", ())
    assert not migrated.is_made(folder)
    migrated.say_made(folder)
    assert migrated.is_made(folder)
    migration.write_text("second")
    assert not migrated.is_made(folder)
