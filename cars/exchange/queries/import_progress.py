"""How far an import is: said beside its transaction, which shows nothing before its end."""

from uuid import UUID

from django.core.cache import cache


def progress_key(pk: UUID) -> str:
    """Under which it stands in the cache."""
    return f"import-progress:{pk}"


def progress_of(pk: UUID) -> tuple[int, int]:
    """Rows done, and of how many; 0 of 0 where nothing is known."""
    done, of = cache.get(progress_key(pk), (0, 0))
    return done, of
