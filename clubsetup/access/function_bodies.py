"""A word changed in the functions that the database keeps, for migrations."""

import re
from collections.abc import Mapping
from typing import Any

from django.db import migrations

_OURS = """
SELECT p.oid, pg_get_functiondef(p.oid)
FROM pg_proc p JOIN pg_namespace n ON n.oid = p.pronamespace
WHERE n.nspname IN ('access', 'public') AND p.prokind = 'f'
  AND NOT EXISTS (SELECT FROM pg_depend d WHERE d.objid = p.oid AND d.deptype = 'e')
ORDER BY p.oid
"""


def change_words(words: Mapping[str, str]) -> migrations.RunPython:
    """Writes every function anew that names one of these; a renamed table is no more found by it.

    PostgreSQL follows a rename in policies and views, but keeps the body of a function as text.
    """

    def forwards(apps: Any, schema_editor: Any) -> None:
        _rewrite(schema_editor, words)

    def backwards(apps: Any, schema_editor: Any) -> None:
        _rewrite(schema_editor, {new: old for old, new in words.items()})

    return migrations.RunPython(forwards, backwards)


def _rewrite(schema_editor: Any, words: Mapping[str, str]) -> None:
    one_of = re.compile("|".join(rf"(?<!\w){re.escape(word)}(?!\w)" for word in words))
    with schema_editor.connection.cursor() as cursor:
        cursor.execute(_OURS)
        for _, text in cursor.fetchall():
            new = one_of.sub(lambda match: words[match[0]], text)
            if new != text:
                cursor.execute(new)
