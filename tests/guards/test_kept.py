"""A test database that is kept is taken for made only while what it was made of stands."""

from pathlib import Path

import pytest

from tests import kept


def test_it_is_kept_where_somebody_says_so(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.delenv("PYTEST_XDIST_WORKER", raising=False)
    monkeypatch.delenv(kept.VARIABLE, raising=False)
    assert kept.kept_folder() is None
    monkeypatch.setenv(kept.VARIABLE, str(tmp_path))
    assert kept.kept_folder() == tmp_path.resolve()
    monkeypatch.setenv("PYTEST_XDIST_WORKER", "gw0")
    with pytest.raises(pytest.UsageError, match="-n 0"):
        kept.kept_folder()


def test_it_is_made_anew_where_a_migration_is_another(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    folder, house = tmp_path / "database", tmp_path / "house"
    migration = house / "cars" / "migrations" / "0001_first.py"
    migration.parent.mkdir(parents=True)
    migration.write_text("first")
    monkeypatch.setattr(kept, "HOUSE", house)
    monkeypatch.setattr(kept, "MADE_OF", ())
    assert not kept.is_made(folder)
    kept.say_made(folder)
    assert kept.is_made(folder)
    migration.write_text("second")
    assert not kept.is_made(folder)
