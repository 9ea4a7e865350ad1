from clubsetup.access.models.base import Row, RowQuerySet
from clubsetup.access.models.idempotency import IdempotencyKey
from clubsetup.access.models.reset_code import ResetCode
from clubsetup.access.models.sign_in import SignIn
from clubsetup.access.models.token import ApiToken
from clubsetup.access.models.trail import TrailLine
from clubsetup.access.models.user import ColourScheme, User

__all__ = [
    "ApiToken",
    "ColourScheme",
    "IdempotencyKey",
    "ResetCode",
    "Row",
    "RowQuerySet",
    "SignIn",
    "TrailLine",
    "User",
]
