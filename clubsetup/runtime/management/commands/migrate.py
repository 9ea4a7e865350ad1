"""`migrate`, always as the owner, with the restricted role made first."""

from typing import Any

from django.core.management.base import CommandError
from django.core.management.commands import migrate

from clubsetup.runtime.addresses import owner_url
from clubsetup.runtime.roles import RoleMissing, ensure_app_role
from clubsetup.runtime.signing_key import store_signing_key
from clubsetup.runtime.walls import close_walls


class Command(migrate.Command):
    """Django's migrate on the `owner` connection unless told otherwise."""

    def add_arguments(self, parser: Any) -> None:
        """As Django's, with another default."""
        super().add_arguments(parser)
        parser.set_defaults(database="owner")

    def handle(self, *args: Any, **options: Any) -> None:
        """Makes the role the migrations grant to, migrates, and keeps the key up to date."""
        try:
            ensure_app_role(owner_url())
        except RoleMissing as problem:
            raise CommandError(str(problem)) from problem
        super().handle(*args, **options)
        if not (options["plan"] or options["check_unapplied"]):
            store_signing_key(options["database"])
            if still_open := close_walls(options["database"]):
                self.stderr.write(still_open)
