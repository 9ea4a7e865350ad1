"""The service's own settings with one more app, which brings a print that takes a while."""

from tests.service_settings import *  # noqa: F403
from tests.service_settings import INSTALLED_APPS as _OURS

INSTALLED_APPS = [*_OURS, "tests.runtime.long_list"]
