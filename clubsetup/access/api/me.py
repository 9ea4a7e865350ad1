"""The person asking: who they are, and their tokens."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import mixins, serializers, status
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView
from rest_framework.viewsets import GenericViewSet

from clubsetup.access import account
from clubsetup.access.api.creating import CreateOnceMixin, CreateOnceSerializer, creates
from clubsetup.access.errors import NotAllowed
from clubsetup.access.models import ApiToken, ColourScheme, SignIn, User
from clubsetup.access.reauthentication import check_still_you
from clubsetup.site.pages import person


def asking(request: Request) -> User:
    """The person asking."""
    return person(request)


class MeSerializer(serializers.ModelSerializer[User]):
    """A person as they see themselves."""

    class Meta:
        model = User
        fields = ("id", "email", "name", "preferred_units", "colour_scheme")
        read_only_fields = ("id", "email")

    preferred_units = serializers.DictField(
        child=serializers.CharField(allow_blank=True),
        help_text="Unit by kind, as in {'length': 'mm'}; a kind left out is as the club has it.",
    )
    colour_scheme = serializers.ChoiceField(
        ColourScheme.choices,
        required=False,
        help_text="How pages are drawn; empty: as the device says.",
    )


class Me(APIView):
    """The person asking."""

    @extend_schema(responses=MeSerializer, operation_id="me_retrieve")
    def get(self, request: Request) -> Response:
        """Who is asking."""
        return Response(MeSerializer(asking(request)).data)

    @extend_schema(request=MeSerializer(partial=True), responses=MeSerializer)
    def patch(self, request: Request) -> Response:
        """Changes the name, the preferred units, or whether pages are light or dark."""
        user = asking(request)
        given = MeSerializer(data=request.data, partial=True)
        given.is_valid(raise_exception=True)
        if "name" in given.validated_data:
            account.set_my_name(by=user, name=given.validated_data["name"])
        if "preferred_units" in given.validated_data:
            account.set_my_units(by=user, units=given.validated_data["preferred_units"])
        if "colour_scheme" in given.validated_data:
            account.set_my_colour_scheme(
                by=user, colour_scheme=given.validated_data["colour_scheme"]
            )
        return Response(MeSerializer(user).data)


class SignInSerializer(serializers.ModelSerializer[SignIn]):
    """A browser in which the person is signed in."""

    class Meta:
        model = SignIn
        fields = ("id", "device", "created_at")


class SignIns(mixins.ListModelMixin, mixins.DestroyModelMixin, GenericViewSet[SignIn]):
    """Where one is signed in. `DELETE` signs a browser out."""

    queryset = SignIn.objects.all()
    serializer_class = SignInSerializer

    def get_queryset(self) -> QuerySet[SignIn]:
        """The person's own."""
        return SignIn.objects.order_by("-id")

    @extend_schema(responses={204: None})
    def destroy(self, request: Request, *_: Any, **__: Any) -> Response:
        """Signs it out. A session that asks must have shown just now that it is still you."""
        if not isinstance(request.auth, ApiToken):
            check_still_you(request._request)
        account.end_sign_in(by=asking(request), sign_in=self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)


class TokenSerializer(serializers.ModelSerializer[ApiToken]):
    """A token without its text."""

    scopes = serializers.ListField(child=serializers.ChoiceField(ApiToken.Scope.choices))

    class Meta:
        model = ApiToken
        fields = ("id", "name", "scopes", "created_at", "expires_at", "ended_at")


class TokenMadeSerializer(TokenSerializer):
    """A token just made."""

    secret = serializers.CharField(
        required=False, help_text="Shown in the answer that made it, and never again."
    )

    class Meta:
        model = ApiToken
        fields = (*TokenSerializer.Meta.fields, "secret")


class TokenCreateSerializer(CreateOnceSerializer):
    """What a new token is."""

    name = serializers.CharField(max_length=60)
    scopes = serializers.ListField(
        child=serializers.ChoiceField(ApiToken.Scope.choices), allow_empty=False
    )
    days = serializers.IntegerField(min_value=1, max_value=account.LONGEST_DAYS, default=90)


@extend_schema_view(create=creates(TokenMadeSerializer, TokenCreateSerializer))
class Tokens(
    CreateOnceMixin, mixins.ListModelMixin, mixins.RetrieveModelMixin, mixins.DestroyModelMixin
):
    """One's own tokens. Made in a session only; `DELETE` ends one."""

    queryset = ApiToken.objects.all()
    serializer_class = TokenSerializer
    create_serializer_class = TokenCreateSerializer

    def get_queryset(self) -> QuerySet[ApiToken]:
        """The person's own, ended ones too."""
        return ApiToken.objects.order_by("-id")

    def make(self, *, row_id: UUID, **given: Any) -> ApiToken:
        """Makes it; a token cannot make another one with more reach or a longer life."""
        if isinstance(self.request.auth, ApiToken):
            raise NotAllowed("A token cannot make a token. Sign in and make it there.")
        check_still_you(self.request._request)
        token, secret = account.make_token(by=asking(self.request), token_id=row_id, **given)
        token.secret = secret  # type: ignore[attr-defined]
        return token

    def answer(self, row: Any) -> dict[str, Any]:
        """With its text where it was made just now."""
        written = TokenMadeSerializer if hasattr(row, "secret") else TokenSerializer
        data: dict[str, Any] = written(row).data
        return data

    @extend_schema(responses={204: None})
    def destroy(self, request: Request, *_: Any, **__: Any) -> Response:
        """Ends a token."""
        account.end_token(by=asking(request), token=self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)
