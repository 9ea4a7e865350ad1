from clubsetup.access.models.audit import AuditRow
from clubsetup.access.models.base import Row
from clubsetup.access.models.receipt import Receipt
from clubsetup.access.models.token import ApiToken
from clubsetup.access.models.user import User

__all__ = ["ApiToken", "AuditRow", "Receipt", "Row", "User"]
