"""The base of forms that may wait on a device before they are sent."""

from typing import Any
from uuid import UUID

from django import forms

from clubsetup.access.ids import new_id


class SentOnce(forms.Form):
    """Carries the id of the record it makes, so that a double tap makes one."""

    row_id = forms.UUIDField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["row_id"].initial = new_id

    def sent_id(self) -> UUID:
        """The id, of a valid form."""
        sent: UUID = self.cleaned_data["row_id"]
        return sent

    def renew(self) -> None:
        """Makes another record of what was sent when it is sent again."""
        self.data = {**dict(self.data.items()), "row_id": str(new_id())}

    def action_values(self) -> dict[str, Any]:
        """What the action takes, of a valid form."""
        raise NotImplementedError
