"""How every form is drawn: label, help, error and box in one order, from templates/site."""

from functools import cached_property
from pathlib import Path
from typing import Any

import django.forms
from django.conf import settings
from django.forms.renderers import DjangoTemplates

from clubsetup.site.box_words import NamedBox


class SiteForms(DjangoTemplates):
    """Django's own widgets inside our fields."""

    form_template_name = "site/form.html"
    field_template_name = "site/field.html"
    bound_field_class = NamedBox

    @cached_property
    def engine(self) -> Any:
        """Our templates first, then Django's."""
        ours = settings.BASE_DIR / "clubsetup" / "templates"
        widgets = Path(django.forms.__file__).parent / "templates"
        return self.backend(
            {"APP_DIRS": True, "DIRS": [ours, widgets], "NAME": "site-forms", "OPTIONS": {}}
        )
