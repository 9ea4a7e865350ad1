"""`load_demo`: the invented club, once."""

import time
from typing import Any

from django.core.management.base import BaseCommand

from events.demo.build import build_demo, sign_ins


class Command(BaseCommand):
    """Makes the demo club if it is not there, and says how to sign in."""

    help = "Load the invented demo club; does nothing where it is loaded already."

    def handle(self, *args: Any, **options: Any) -> None:
        started = time.monotonic()
        if build_demo():
            self.stdout.write(f"Demo club loaded in {time.monotonic() - started:.1f} s.")
        self.stdout.write("Sign in as one of these:")
        for email, part, password in sign_ins():
            self.stdout.write(f"  {email:30} {password}   {part}")
