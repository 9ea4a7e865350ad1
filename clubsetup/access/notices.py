"""Letters that tell people what was changed of how they sign in.

A letter goes to every address that its person had confirmed before the change, says what was done
and when, and holds no secret and no link: whoever reads it can do nothing with it.
"""

from collections.abc import Iterable

from allauth.account.models import EmailAddress
from django.conf import settings
from django.core.mail import EmailMessage
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone

from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as


def addresses_of(user: User) -> list[str]:
    """Where letters reach that person: what they have confirmed."""
    with viewing_as(user.pk):
        held = EmailAddress.objects.filter(user_id=user.pk, verified=True)
        return sorted(held.values_list("email", flat=True))


def tell(user: User, what: str, *, also: Iterable[str] = (), but: Iterable[str] = ()) -> None:
    """Sends one letter to each address once the change is kept.

    `also` stood before and is gone by now; `but` was not there before.
    """
    if not settings.MAIL_IS_SET_UP:
        return
    now = timezone.now()
    for address in sorted({*addresses_of(user), *also} - set(but)):
        body = render_to_string("access/notice.txt", {"what": what, "at": now, "user": user})
        letter = EmailMessage("Your account at Clubsetup", body.strip() + "\n", to=[address])
        _send_once_kept(letter)


def _send_once_kept(letter: EmailMessage) -> None:
    def send() -> None:
        letter.send()

    # A letter that cannot be sent must not undo what was done; it is logged without its text.
    transaction.on_commit(send, robust=True)
