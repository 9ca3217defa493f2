"""Forms of teams."""

from typing import Any

from django import forms
from django.db.models import Model
from django.utils.translation import gettext_lazy as _

from gaiter.records.actions.teams import LEAST_REASON, LONGEST_REASON
from gaiter.records.models import Account, Person, Role, Team
from gaiter.records.read.visible import (
    CLINICAL_ROLES,
    own_teams,
    teams_count,
    teams_of,
    unseen_people,
)
from gaiter.records.typed import key_in
from gaiter.web.frame.forms import OnceForm

# A manager places that many by hand at a time; "everybody" has no limit.
_SHOWN = 200


class RowsField(forms.ModelMultipleChoiceField):  # type: ignore[type-arg] # one in the stubs only
    """Rows to tick, which the form names when it is made."""

    def __init__(self, model: type[Model], **kwargs: Any) -> None:
        nothing = model._default_manager.none()
        super().__init__(nothing, widget=forms.CheckboxSelectMultiple, **kwargs)

    def clean(self, value: Any) -> Any:
        """The rows; a key longer than any is no choice, and a database refuses to look for it."""
        for key in value or ():
            if not key_in(str(key)):
                raise forms.ValidationError(
                    self.error_messages["invalid_pk_value"], params={"pk": str(key)[:40]}
                )
        return super().clean(value)


class TeamChoice(RowsField):
    """One team or more."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", _("Teams"))
        super().__init__(Team, **kwargs)


class NewTeamForm(OnceForm):
    """A team's name."""

    name = forms.CharField(label=_("Name of the team"), max_length=60)


class TeamForm(NewTeamForm):
    """Who is in a team, and whether it counts."""

    active = forms.BooleanField(label=_("The team counts"), required=False)
    accounts = RowsField(Account, label=_("Who is in it"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        choice: RowsField = self.fields["accounts"]  # type: ignore[assignment] # declared so above
        choice.queryset = Account.objects.filter(is_active=True, role__in=CLINICAL_ROLES).order_by(
            "name"
        )


class _Numbers(RowsField):
    """People by their number: a manager reads no name."""

    def label_from_instance(self, obj: Person) -> str:
        """The number."""
        return obj.number


class PlaceForm(OnceForm):
    """People whom nobody sees, and the team that shall."""

    team = forms.ModelChoiceField(Team.objects.none(), label=_("Put into"))
    everybody = forms.BooleanField(label=_("everybody whom nobody sees"), required=False)
    people = _Numbers(Person, label=_("By their numbers"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.shown: list[int] = []
        team: forms.ModelChoiceField = self.fields["team"]  # type: ignore[assignment,type-arg] # declared so above
        team.queryset = Team.objects.filter(active=True).order_by("name")
        if teams_count():
            self.shown = list(unseen_people().values_list("pk", flat=True)[:_SHOWN])
            people: RowsField = self.fields["people"]  # type: ignore[assignment] # as above
            people.queryset = Person.objects.filter(pk__in=self.shown).order_by("pk")
        else:
            # Without the setting a manager reads nothing of people, as before.
            del self.fields["people"]

    def chosen(self) -> list[Person]:
        """Whom the form names."""
        if self.cleaned_data["everybody"]:
            return list(unseen_people())
        return list(self.cleaned_data.get("people", ()))


class PersonTeamsForm(OnceForm):
    """Teams of a person: a prescriber says all of them, anybody else adds their own."""

    teams = TeamChoice(required=False)

    def __init__(self, account: Account, person: Person, *args: Any, **kwargs: Any) -> None:
        self.held = list(teams_of(person))
        self.left = own_teams(account).exclude(pk__in=[team.pk for team in self.held])
        self.moves = account.role == Role.PRESCRIBER
        super().__init__(*args, **kwargs)
        self.initial = {"teams": self.held if self.moves else []}
        choice: TeamChoice = self.fields["teams"]  # type: ignore[assignment] # declared so above
        if self.moves:
            choice.queryset = Team.objects.filter(active=True).order_by("name")
        else:
            choice.queryset = self.left
            choice.label = _("Add your team")

    @property
    def offers(self) -> bool:
        """Whether there is anything to choose."""
        return self.moves or self.left.exists()

    def chosen(self) -> list[Team]:
        """Every team that the person shall be in."""
        said = list(self.cleaned_data["teams"])
        return said if self.moves else [*self.held, *said]


class OutsideForm(OnceForm):
    """Whom one opens from outside, and why."""

    number = forms.CharField(label=_("Number in the clinic, whole"), max_length=40)
    words = forms.CharField(
        label=_("Why you open this record, 10 to 500 characters"),
        min_length=LEAST_REASON,
        max_length=LONGEST_REASON,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
