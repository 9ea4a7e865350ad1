"""`load_demo`: the invented club, once."""

import time
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from events.demo.build import build_demo, sign_ins


class Command(BaseCommand):
    """Makes the demo club if it is not there, and says how to sign in."""

    help = "Load the invented demo club; does nothing where it is loaded already."

    def add_arguments(self, parser: CommandParser) -> None:
        """How much of it."""
        parser.add_argument(
            "--no-runs",
            action="store_true",
            help="without the seasons at the track: loads in a third of the time",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        started = time.monotonic()
        if build_demo(with_runs=not options["no_runs"]):
            self.stdout.write(f"Demo club loaded in {time.monotonic() - started:.1f} s.")
        self.stdout.write("Sign in as one of these:")
        for email, part, password in sign_ins():
            self.stdout.write(f"  {email:30} {password}   {part}")
