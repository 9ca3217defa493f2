"""Forms as the clinic writes them: a token that counts once, and what a change of a row showed."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gaiter.core.errors import InputError
from gaiter.records.clash import StaleError


class OnceForm(forms.Form):
    """A form that counts once, however often it is sent."""

    once = forms.CharField(widget=forms.HiddenInput, required=False, max_length=64)

    def refuse(self, sentence: str) -> None:
        """Says what is wrong with the form as a whole."""
        self.add_error(None, sentence)


class ChangeForm(OnceForm):
    """A form about a row that is there: of two who have it open, neither takes back the other's.

    Beside each box it carries what the box showed, so that only what its writer changed is written.
    """

    def __init__(self, data: Any = None, *, initial: Mapping[str, Any]) -> None:
        super().__init__(data, initial=dict(initial))
        for name in initial:
            self.fields[name].show_hidden_initial = True

    def changes(self) -> dict[str, Any]:
        """What its writer changed, by the name of the field.

        Raises
        ------
        InputError
            If the form does not say what it showed.
        StaleError
            If somebody else changed one of these since it was shown.
        """
        changed = [name for name in self.changed_data if name in self.initial]
        for name in changed:
            box = self[name]
            if box.html_initial_name not in self.data:
                raise InputError(_("This form is older than the program: load the page again."))
            now = box.field.hidden_widget().format_value(box.field.prepare_value(box.initial))
            if (now or "") != self.data[box.html_initial_name]:
                raise StaleError
        return {name: self.cleaned_data[name] for name in changed}


class DayField(forms.DateField):
    """A day, typed or picked."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
        super().__init__(widget=widget, input_formats=["%Y-%m-%d"], **kwargs)
        self.error_messages["invalid"] = gettext_lazy("Give a date such as 2026-11-25.")
