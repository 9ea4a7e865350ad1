"""What a box says when it cannot take what was typed: our sentence for each of the framework's.

Every form is drawn by the one renderer, and the renderer makes the boxes; so this holds for the
forms of sign-in and passkeys too. A message that a form gives itself stays.
"""

from collections.abc import Callable, Iterator
from typing import Any

from django import forms
from django.forms import boundfield

from clubsetup.site.readable_text import has_no_text

_NO_TEXT = "null_characters_not_allowed"
_ANY = {
    "required": "Fill in “{label}”: it is needed.",
    "invalid": "“{label}” cannot be read. Write it anew.",
    "min_length": "“{label}” has at least %(limit_value)d letters. Write it out.",
    "max_length": "“{label}” has at most %(limit_value)d letters, and this has %(show_value)d. "
    "Shorten it.",
    "min_value": "“{label}” is never less than %(limit_value)s. Check the figure.",
    "max_value": "“{label}” is never more than %(limit_value)s. Check the figure.",
    "max_digits": "“{label}” has at most %(max)s digits. Shorten it.",
    "max_decimal_places": "“{label}” has at most %(max)s digits after the point. Shorten it.",
    "max_whole_digits": "“{label}” has at most %(max)s digits before the point. Check the figure.",
    _NO_TEXT: "“{label}” holds a sign that cannot be kept. Write it anew.",
}
_CHOICE = {
    "required": "Choose one for “{label}”.",
    "invalid_choice": "What was sent for “{label}” is not among its choices. Choose again.",
    "invalid_list": "Choose among those shown for “{label}”.",
    "invalid_pk_value": "What was sent for “{label}” is not among its choices. Choose again.",
}
_LOST = "“{label}” did not arrive. Choose the file again."
# The first class that fits counts.
_OF: tuple[tuple[type[forms.Field], dict[str, str]], ...] = (
    (forms.ChoiceField, _CHOICE),
    (forms.ModelChoiceField, _CHOICE),
    (forms.BooleanField, {"required": "Tick “{label}” to go on."}),
    (forms.DecimalField, {"invalid": "“{label}” is a number. Write it in digits, as in 1.5."}),
    (forms.FloatField, {"invalid": "“{label}” is a number. Write it in digits, as in 1.5."}),
    (forms.IntegerField, {"invalid": "“{label}” is a whole number. Write it in digits."}),
    (forms.DateTimeField, {"invalid": "“{label}” is a time. Write it as 2026-03-14 18:30."}),
    (forms.DateField, {"invalid": "“{label}” is a day. Write it as 2026-03-14."}),
    (
        forms.EmailField,
        {"invalid": "“{label}” is an e-mail address. Write it as name@club.example."},
    ),
    (
        forms.UUIDField,
        {"invalid": "“{label}” did not arrive whole. Open the page again and send it once more."},
    ),
    (
        forms.FileField,
        {
            "invalid": _LOST,
            "missing": _LOST,
            "empty": "The file for “{label}” is empty. Choose another.",
            "contradiction": "Choose a file for “{label}”, or tick that there is none; not both.",
        },
    ),
)


class NamedBox(boundfield.BoundField):
    """A box whose messages name it and say how to mend it."""

    def __init__(self, form: forms.BaseForm, field: forms.Field, name: str) -> None:
        super().__init__(form, field, name)
        standard = _standard(field)
        for code, words in _words(field).items():
            if field.error_messages.get(code) == standard.get(code):
                field.error_messages[code] = words.format(label=_safe(str(self.label)))
        field.clean = _text_first(field)  # type: ignore[method-assign]  # this form's own copy


def _text_first(field: forms.Field) -> Callable[..., Any]:
    """The field's own `clean`, which what holds a sign that is no text never reaches.

    A box of figures, a choice or a hidden id would look it up or convert it first.
    """
    clean = field.clean

    def text_first(value: Any, *more: Any) -> Any:
        if has_no_text(value):
            words = field.error_messages[_NO_TEXT]
            raise forms.ValidationError(words, code=_NO_TEXT)
        return clean(value, *more)

    return text_first


def _words(field: forms.Field) -> dict[str, str]:
    own = next((words for kind, words in _OF if isinstance(field, kind)), {})
    return {**_ANY, **own}


def _standard(field: forms.Field) -> dict[str, Any]:
    """The framework's messages for such a field."""
    return dict(_messages(type(field)))


def _messages(kind: type[forms.Field]) -> Iterator[tuple[str, Any]]:
    for parent in reversed(kind.__mro__):
        yield from getattr(parent, "default_error_messages", {}).items()


def _safe(label: str) -> str:
    """The label within a message, some of which are filled in with % and some not."""
    return label.removesuffix(", %").replace("%", "percent")
