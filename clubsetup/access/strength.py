"""How hard a password is to guess, reckoned on this machine."""

from django.core.exceptions import ValidationError
from zxcvbn import zxcvbn

from clubsetup.access.models import User

# Of 0 to 4: at this one a thief of the whole table is kept busy for long (zxcvbn's own words:
# "safely unguessable: moderate protection from offline slow-hash scenario").
LEAST_SCORE = 3
# zxcvbn takes half a minute for 72 signs that stand for letters (4@8({[<), and under half a second
# for 20. Of a longer password the beginning and the end are looked at: either one alone may do.
READ_AT_ONCE = 20
HELP = "Three or four words that have nothing to do with each other are good."


class HardToGuess:
    """Refuses what is soon guessed from words, names, keys side by side and one's own data."""

    def validate(self, password: str, user: User | None = None) -> None:
        """As Django's validators."""
        own = [user.email, *user.email.split("@"), user.name] if user is not None else []
        known = ["clubsetup", *filter(None, own)]
        for part in dict.fromkeys((password[:READ_AT_ONCE], password[-READ_AT_ONCE:])):
            if zxcvbn(part, user_inputs=known)["score"] >= LEAST_SCORE:
                return
        raise ValidationError(f"This password is soon guessed. {HELP}", code="guessable")

    def get_help_text(self) -> str:
        """What stands beside the box."""
        return HELP
