"""Loosened or taken off: whoever is there may record it, by the reference on the tape."""

from django import forms
from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gaiter.records.actions.checks import record_came_off
from gaiter.records.models import BandageEvent, Deed, Episode
from gaiter.records.read.alarm import open_alarm
from gaiter.records.words import in_language
from gaiter.web.frame.access import EVERYBODY, allow
from gaiter.web.frame.forms import OnceForm
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest
from gaiter.web.off.pages import OffPage


class OffForm(OnceForm):
    """What was done to which bandage."""

    reference = forms.CharField(
        label=gettext_lazy("Reference on the tape or sheet, five letters and digits"), max_length=12
    )
    kind = forms.ChoiceField(
        label=gettext_lazy("The bandage was"),
        choices=BandageEvent.Kind.choices,
        widget=forms.RadioSelect,
    )
    after = forms.ChoiceField(
        label=gettext_lazy("Ten minutes after it came off the toes were"),
        choices=(
            ("", gettext_lazy("not looked at yet")),
            (Deed.Kind.RECOVERED, gettext_lazy("as before the bandage")),
            (Deed.Kind.NOT_RECOVERED, gettext_lazy("not as before: white, blue, cold or numb")),
        ),
        required=False,
        widget=forms.RadioSelect,
    )
    words = forms.CharField(
        label=gettext_lazy("Why, in your words"),
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )


@allow(EVERYBODY, "GET", "POST", when_locked=True)
def off(request: ClinicRequest) -> HttpResponse:
    """The form; nothing of the patient is shown, so a locked screen opens it too."""
    form = OffForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        reference = said["reference"].strip().upper()
        episode = Episode.objects.filter(reference=reference, closed_on=None).first()
        if episode is None:
            form.add_error("reference", _("No open episode carries this reference: read it again."))
        elif said["after"] and said["kind"] != BandageEvent.Kind.TAKEN_OFF:
            form.add_error("after", _("The toes are looked at after the bandage came off."))
        else:
            record_came_off(
                request.actor, episode, said["kind"], said["words"], said["after"], said["once"]
            )
            messages.success(
                request, _("Recorded for %s. The prescriber sees it at once.") % reference
            )
            _say_what_next(request, episode)
            return redirect("off")
    return show(request, OffPage(form), 400 if form.errors else 200)


def _say_what_next(request: ClinicRequest, episode: Episode) -> None:
    """What the alarm of the leg asks for now, without anything of the patient."""
    alarm = open_alarm(episode)
    if alarm is None:
        return
    phone = settings.GAITER.phone
    call = _("The clinic: %s") % phone if phone else ""
    said = (f"{_(alarm.headline)}:", *map(in_language, alarm.next), call)
    messages.warning(request, " ".join(said).strip())
