from django import forms


class AskForm(forms.Form):
    """What `printing/_ask.html` sends."""

    document = forms.SlugField(max_length=40)
    subject_id = forms.UUIDField()
