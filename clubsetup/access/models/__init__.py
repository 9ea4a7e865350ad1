from clubsetup.access.models.audit import AuditRow
from clubsetup.access.models.base import Row
from clubsetup.access.models.receipt import Receipt
from clubsetup.access.models.reset_code import ResetCode
from clubsetup.access.models.sign_in import SignIn
from clubsetup.access.models.token import ApiToken
from clubsetup.access.models.user import User

__all__ = ["ApiToken", "AuditRow", "Receipt", "ResetCode", "Row", "SignIn", "User"]
