"""Sign-in and the API's manners."""

from typing import Any

from clubsetup.settings.doors import MAIL_IS_SET_UP
from clubsetup.settings.safety import TRUSTED_PROXIES

AUTH_USER_MODEL = "access.User"
AUTHENTICATION_BACKENDS = ["clubsetup.access.people.SignInBackend"]
SESSION_ENGINE = "clubsetup.access.sessions"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 10},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
    {"NAME": "clubsetup.access.strength.HardToGuess"},
]
PASSWORD_RESET_TIMEOUT = 60 * 60
FORM_RENDERER = "clubsetup.site.form_renderer.SiteForms"
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "start"
LOGOUT_REDIRECT_URL = "account_login"

ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*", "password1*", "password2*"]
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_UNIQUE_EMAIL = True
# Where mail leaves here an address is confirmed before it opens anything. A club at a track has no
# mail server: no address is ever confirmed there, and none opens anything by itself.
ACCOUNT_EMAIL_VERIFICATION = "mandatory" if MAIL_IS_SET_UP else "none"
ACCOUNT_EMAIL_UNKNOWN_ACCOUNTS = False  # no letters to strangers at anybody's wish
ACCOUNT_MAX_EMAIL_ADDRESSES = 3
# clubsetup/access/notices.py tells all addresses, not the first one.
ACCOUNT_EMAIL_NOTIFICATIONS = False
# Whoever finds a browser left signed in changes nothing of how its person signs in.
ACCOUNT_REAUTHENTICATION_REQUIRED = True
ACCOUNT_REAUTHENTICATION_TIMEOUT = 300
ACCOUNT_ADAPTER = "clubsetup.access.account_adapter.AccountAdapter"
ACCOUNT_SIGNUP_FORM_CLASS = "clubsetup.access.account_adapter.SignupForm"
ACCOUNT_FORMS = {
    "login": "clubsetup.access.sign_in.SignInForm",
    "reset_password": "clubsetup.access.passwords.ForgottenForm",
    "change_password": "clubsetup.access.passwords.NewPasswordForm",
}
ACCOUNT_RATE_LIMITS = {
    "login": "30/m/ip",
    "login_failed": "10/m/ip,5/5m/key",
    # On a device that the person has signed in on before (clubsetup/access/devices.py).
    "login_failed_known_device": "5/5m/key",
    "signup": "20/m/ip",
    "reset_password": "20/m/ip,5/m/key",
    "reset_password_from_key": "20/m/ip",
    "reauthenticate": "10/m/user",
    "change_password": "5/m/user",
    "manage_email": "10/m/user",
    "confirm_email": "1/3m/key",
}
MFA_SUPPORTED_TYPES = ["totp", "webauthn", "recovery_codes"]
MFA_PASSKEY_LOGIN_ENABLED = True
MFA_FORMS = {
    "add_webauthn": "clubsetup.access.passkeys.AddPasskeyForm",
    "login_webauthn": "clubsetup.access.login_by_link.PasskeyForm",
}
# Where there is no mail server no address is ever confirmed, and accounts come by invitation only.
MFA_ALLOW_UNVERIFIED_EMAIL = True
MFA_TOTP_ISSUER = "Clubsetup"
MFA_ADAPTER = "clubsetup.access.second_factor.SecondFactorAdapter"

REST_FRAMEWORK: dict[str, Any] = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "clubsetup.access.api.authentication.TokenAuthentication",
        "clubsetup.access.api.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["clubsetup.access.api.permissions.SignedInWithScope"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["clubsetup.access.api.parsers.JSONParser"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_FILTER_BACKENDS": ["django_filters.rest_framework.DjangoFilterBackend"],
    "DEFAULT_PAGINATION_CLASS": "clubsetup.access.api.pagination.Pages",
    "PAGE_SIZE": 50,
    "EXCEPTION_HANDLER": "clubsetup.access.api.problems.handle",
    "NUM_PROXIES": TRUSTED_PROXIES,
    "DEFAULT_THROTTLE_CLASSES": ["clubsetup.access.api.throttle.CallsOfPerson"],
    "UNAUTHENTICATED_USER": "django.contrib.auth.models.AnonymousUser",
    "COERCE_DECIMAL_TO_STRING": True,
}
SPECTACULAR_SETTINGS: dict[str, Any] = {
    "TITLE": "Clubsetup",
    "DESCRIPTION": "The club's and the team's own data, over the same actions as the pages.",
    "VERSION": "0.1.0",
    "OAS_VERSION": "3.1.0",
    "SERVE_INCLUDE_SCHEMA": False,
    "COMPONENT_SPLIT_REQUEST": True,
    "POSTPROCESSING_HOOKS": [
        "drf_spectacular.hooks.postprocess_schema_enums",
        "clubsetup.access.api.schema.add_problems",
        "clubsetup.access.api.schema.add_summaries",
    ],
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_SETTINGS": {"docExpansion": "none", "deepLinking": True},
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    # One name for each set of choices that several things have under one field's name.
    "ENUM_NAME_OVERRIDES": {
        "HandoverStateEnum": ["offered", "expired", "withdrawn", "taken", "taken-back"],
        "ClubRole": "teams.models.ClubRole.choices",
        "PrintState": "clubsetup.printing.api.serializers.PRINT_STATES",
        "TeamRole": "teams.models.TeamRole.choices",
        "InvitedAs": "teams.api.serializers.INVITED_AS",
        "Spot": "cars.models.Spot.choices",
        "Corner": "cars.plans.api.car_tool_serializers.CORNERS",
        "PartSpot": "cars.sheets.api.part_serializers.PART_SPOTS",
        "ImportKind": "cars.exchange.api.imports.IMPORT_KINDS",
        "BaselineState": "cars.baselines.api.serializers.BASELINE_STATES",
        "SheetState": "cars.sheets.api.serializers.SHEET_STATES",
        "EntryState": "events.api.tech_serializers.ENTRY_STATES",
        "SheetRole": "cars.sheets.api.serializers.SHEET_ROLES",
        "RunKind": "cars.runs.api.serializers.RUN_KINDS",
        "CornerBalance": "cars.runs.api.serializers.BALANCES",
        "LapMark": "cars.runs.api.serializers.LAP_MARKS",
        "CornerPlace": "cars.runs.api.suggestion_serializers.PLACES",
        "SuggestionSource": "cars.runs.api.suggestion_serializers.SUGGESTION_SOURCES",
        "BaselineSource": "cars.baselines.api.serializers.BASELINE_SOURCES",
    },
}
