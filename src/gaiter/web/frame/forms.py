"""Forms as the clinic writes them: a token that counts once, and help tied to each box."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _


class OnceForm(forms.Form):
    """A form that counts once, however often it is sent."""

    once = forms.CharField(widget=forms.HiddenInput, required=False, max_length=64)

    def refuse(self, sentence: str) -> None:
        """Says what is wrong with the form as a whole."""
        self.add_error(None, sentence)


class DayField(forms.DateField):
    """A day, typed or picked."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
        super().__init__(widget=widget, input_formats=["%Y-%m-%d"], **kwargs)
        self.error_messages["invalid"] = _("Give a date such as 2026-11-25.")
