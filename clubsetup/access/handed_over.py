"""A phone handed over: its browser, still signed in, gets one page until a code.

Which page it is says a floor above; middleware.py has its names. The state stands with the sign-in
in the database and is asked for at the start of each request (viewer.begin), so that no reload,
other tab, link or call of the API goes past it. Of the code a keyed hash is kept: four digits are
few, and whoever finds the hash alone must not be able to try them all.
"""

from itertools import pairwise
from uuid import UUID

from django.utils import timezone
from django.utils.crypto import constant_time_compare, salted_hmac

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.models import SignIn, User

DIGITS = 4
MOST_WRONG = 5
SALT = "clubsetup.access.handed_over"
CHOOSE = "Choose four digits, 0 to 9."
TOO_EASY = "A child tries this one first. Not four times the same digit, and no row like 1234."


def handed_over(by: User, browser: str) -> SignIn | None:
    """The browser's sign-in, where it is handed over."""
    rows = SignIn.objects.filter(user=by, digest=browser, handed_over_at__isnull=False)
    return rows.first()


@action
def hand_over(*, by: User, browser: str, about: UUID, code: str) -> SignIn:
    """From now on this browser gets the one page about `about`, until the code.

    Raises Invalid for a code that is not four digits, or that anybody would try first.
    """
    if len(code) != DIGITS or not (code.isascii() and code.isdigit()):
        raise Invalid("code", CHOOSE)
    if _is_easy(code):
        raise Invalid("code", TOO_EASY)
    row = SignIn.objects.select_for_update().filter(user=by, digest=browser).first()
    if row is None:
        raise WrongState("Open another page first: this browser is not on your list yet.")
    row.handed_over_at, row.handed_over_for = timezone.now(), about
    row.handed_over_code, row.wrong_codes = _kept(row, code), 0
    _save(row)
    record(by=by, did="handed_over", on=row, device=row.device)
    return row


@action
def give_back_by_code(*, by: User, browser: str, code: str) -> bool:
    """Ends it by the code; says whether the code was right. A wrong one counts.

    Raises WrongState once five were wrong: then the password is asked for.
    """
    row = _held(by, browser)
    if row.wrong_codes >= MOST_WRONG:
        raise WrongState("Five codes were wrong. Now the password of the account opens it.")
    if constant_time_compare(row.handed_over_code, _kept(row, code)):
        _end(by, row, "code")
        return True
    row.wrong_codes += 1
    row.save(update_fields=["wrong_codes"])
    record(by=by, did="typed_wrong_code", on=row, count=row.wrong_codes)
    return False


@action
def give_back_by_password(*, by: User, browser: str) -> None:
    """Ends it; whoever calls this has just been given the password."""
    _end(by, _held(by, browser), "password")


def _held(by: User, browser: str) -> SignIn:
    """The row, held: of two who type at once the second finds the first one's wrong code."""
    row = SignIn.objects.select_for_update().filter(user=by, digest=browser).first()
    if row is None or row.handed_over_at is None:
        raise WrongState("This browser is not handed over any more.")
    return row


def _end(by: User, row: SignIn, how: str) -> None:
    row.handed_over_at = row.handed_over_for = None
    row.handed_over_code, row.wrong_codes = "", 0
    _save(row)
    record(by=by, did="gave_back", on=row, by_what=how)


def _save(row: SignIn) -> None:
    names = ["handed_over_at", "handed_over_for", "handed_over_code", "wrong_codes"]
    row.save(update_fields=names)


def _kept(row: SignIn, code: str) -> str:
    return salted_hmac(SALT, f"{row.pk}{code}", algorithm="sha256").hexdigest()


def _is_easy(code: str) -> bool:
    steps = {(int(after) - int(before)) % 10 for before, after in pairwise(code)}
    return len(steps) == 1 and steps <= {0, 1, 9}
