"""Apps, templates, static files."""

import os
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured
from jinja2 import StrictUndefined

from clubsetup.clock.zones import UTC, unknown_zone
from clubsetup.runtime.folder import data_folder

BASE_DIR = Path(__file__).resolve().parent.parent.parent
DATA_DIR = data_folder()

INSTALLED_APPS = [
    "clubsetup.access",
    "clubsetup.offline",
    "clubsetup.printing",
    "clubsetup.runtime",
    "teams",
    "cars",
    "events",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "rest_framework",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "django_filters",
    "django_htmx",
    "django_permissions_policy",
    "csp",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.humanize",
    "django.contrib.messages",
    "django.contrib.sessions",
    "django.contrib.staticfiles",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django_permissions_policy.PermissionsPolicyMiddleware",
    "clubsetup.site.cache_headers.NoStoreMiddleware",
    "clubsetup.site.request_limits.EdgeMiddleware",
    "clubsetup.site.database_away.DatabaseAwayMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "clubsetup.access.devices.DeviceMiddleware",
    "clubsetup.access.idle_sessions.IdleMiddleware",
    "clubsetup.access.middleware.ViewerMiddleware",
    "clubsetup.access.middleware.HandedOverMiddleware",
    "clubsetup.access.sign_ins.SignInMiddleware",
    "teams.middleware.ClockMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "clubsetup.site.sign_in_again.SignedOutMiddleware",
]

ROOT_URLCONF = "clubsetup.urls"
WSGI_APPLICATION = "clubsetup.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "clubsetup" / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "clubsetup.site.context.site",
            ],
            "builtins": [
                "clubsetup.site.templatetags.clock",
                "clubsetup.site.templatetags.looks",
            ],
        },
    },
    {
        "BACKEND": "django.template.backends.jinja2.Jinja2",
        "DIRS": [BASE_DIR / "clubsetup" / "jinja2"],
        "APP_DIRS": True,
        "OPTIONS": {
            "environment": "clubsetup.site.jinja_environment.environment",
            "trim_blocks": True,
            "lstrip_blocks": True,
            "undefined": StrictUndefined,
        },
    },
]

# Whether /look/ shows every part of the pages in every state, for who builds them.
LOOK_PAGE = os.environ.get("CLUBSETUP_LOOK", "") == "1"

STATIC_URL = "/static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "clubsetup" / "static"]
PRINTS_ROOT = DATA_DIR / "prints"

LANGUAGE_CODE = "en-us"
TIME_ZONE = "UTC"  # of the database, the API and every export; people read their club's
CLUBSETUP_TIME_ZONE = os.environ.get("CLUBSETUP_TIME_ZONE", "") or UTC
if problem := unknown_zone(CLUBSETUP_TIME_ZONE):
    raise ImproperlyConfigured(f"CLUBSETUP_TIME_ZONE: {problem}")
USE_I18N = True
USE_TZ = True

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s: %(message)s"}},
    "filters": {"secrets": {"()": "clubsetup.site.log_secrets.HideSecrets"}},
    "handlers": {
        "console": {"class": "logging.StreamHandler", "formatter": "line", "filters": ["secrets"]}
    },
    "root": {"handlers": ["console"], "level": "WARNING"},
}
