"""What a token may be used for. Who may see and do what is not decided here."""

from typing import TYPE_CHECKING

from rest_framework.permissions import SAFE_METHODS, BasePermission
from rest_framework.request import Request

from clubsetup.access.models import ApiToken

if TYPE_CHECKING:
    # The view's class names this one through the settings: at run time it comes later.
    from rest_framework.views import APIView


class SignedInWithScope(BasePermission):
    """Signed in, and a token has the scope: `read` to read, `write` (or the view's) to write."""

    message = "This token's scopes do not include that."

    def has_permission(self, request: Request, view: "APIView") -> bool:
        """As BasePermission."""
        if not request.user.is_authenticated:
            return False
        token = request.auth
        if not isinstance(token, ApiToken):
            return True
        if request.method in SAFE_METHODS:
            return getattr(view, "read_scope", ApiToken.Scope.READ) in token.scopes
        return getattr(view, "write_scope", ApiToken.Scope.WRITE) in token.scopes
