"""The form of a file that is to be brought in."""

from typing import Any

from django import forms

from cars.models import Import

PASTED = "pasted.csv"
TABLES = [one for one in Import.Kind.choices if one[0] != Import.Kind.ARCHIVE]


class ImportForm(forms.Form):
    """A file, or rows pasted out of a spreadsheet."""

    outcome: Any
    kind = forms.ChoiceField(label="What it holds", choices=TABLES)
    timed_by = forms.ChoiceField(
        label="Who timed the laps",
        choices=Import.TimedBy.choices,
        required=False,
        help_text="Of runs. A column of the file may say it row by row: transponder, or by hand.",
    )
    file = forms.FileField(
        label="File",
        required=False,
        help_text="CSV or XLSX, at most 5000 rows. The first row names the columns.",
    )
    text = forms.CharField(
        label="Or paste the rows",
        required=False,
        strip=False,
        max_length=1_000_000,
        widget=forms.Textarea(attrs={"rows": 4, "autocomplete": "off"}),
    )

    def clean(self) -> dict[str, Any]:
        """One of the two, as a name and its bytes."""
        given = self.cleaned_data
        file, text = given.get("file"), given.get("text", "")
        if (file is None) == (not text.strip()):
            raise forms.ValidationError("Choose a file or paste the rows, one of the two.")
        if file is not None:
            given["file_name"], given["content"] = file.name or "", file.read()
        else:
            given["file_name"], given["content"] = PASTED, text.encode()
        return given
