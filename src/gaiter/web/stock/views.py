"""Stock: what the clinic has of each material."""

import tomllib
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from pydantic import ValidationError as PydanticError

from gaiter.core.case.person import BenchCurve
from gaiter.core.errors import InputError
from gaiter.core.problems import problems_of
from gaiter.files.catalogue_file import shipped_catalogue
from gaiter.records.actions.plans import set_stock_item, stock_change
from gaiter.records.models import Role, StockItem
from gaiter.records.typed import whole_in
from gaiter.records.words import in_language
from gaiter.web.frame.access import CLINICAL, allow
from gaiter.web.frame.forms import ChangeForm, OnceForm
from gaiter.web.frame.page import show
from gaiter.web.frame.request import ClinicRequest
from gaiter.web.stock.pages import ItemPage, StockPage


class CurveField(forms.CharField):
    """A stretch curve as the bench test prints it."""

    def clean(self, value: str) -> dict[str, float] | None:
        """The curve's numbers; None where it is left empty."""
        text = super().clean(value).strip()
        if not text:
            return None
        try:
            given = tomllib.loads(text)
            return BenchCurve.model_validate(given.get("curve", given)).model_dump()
        except tomllib.TOMLDecodeError:
            raise forms.ValidationError(
                _("This is not the line that starts with “curve = {”: copy it whole.")
            ) from None
        except PydanticError as error:
            problems = [in_language(one.line) for one in problems_of(error, BenchCurve)]
            raise forms.ValidationError("; ".join(problems)) from None

    def prepare_value(self, value: Any) -> Any:
        """The curve as the bench test would print it."""
        if not isinstance(value, dict):
            return value
        inside = ", ".join(f"{name} = {number:g}" for name, number in value.items())
        return f"curve = {{ {inside} }}"


class _Item(forms.Form):
    """A material in one width."""

    material = forms.ChoiceField(label=gettext_lazy("Material"))
    width_cm = forms.FloatField(label=gettext_lazy("Width, cm"), min_value=2, max_value=30)
    relaxed_length_cm = forms.FloatField(
        label=gettext_lazy("Relaxed length, cm (empty: the catalogue's)"),
        min_value=50,
        max_value=3000,
        required=False,
    )
    thickness_mm = forms.FloatField(
        label=gettext_lazy("Thickness as wrapped, half overlapping, mm (empty: the catalogue's)"),
        min_value=0,
        max_value=30,
        required=False,
    )
    rolls = forms.IntegerField(label=gettext_lazy("Rolls in hand"), min_value=0, max_value=10_000)
    low_at = forms.IntegerField(
        label=gettext_lazy("Say low at, rolls"), min_value=0, max_value=1000, initial=5
    )

    curve = CurveField(
        label=gettext_lazy("Stretch curve of your own roll, the line that “gaiter bench” prints"),
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: object, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type] # passed on as they came
        materials = shipped_catalogue().materials.values()
        choice: forms.ChoiceField = self.fields["material"]  # type: ignore[assignment] # declared so above
        choice.choices = [(m.key, m.title) for m in materials]


class NewItemForm(_Item, OnceForm):
    """A material that comes onto the shelf."""


class ItemForm(_Item, ChangeForm):
    """A material that is on the shelf: which one it is stays, and rolls are counted elsewhere."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["material"].disabled = self.fields["rolls"].disabled = True


def _curve_source(item: StockItem) -> str:
    material = shipped_catalogue()[item.material]
    if item.curve:
        return _("own bench test")
    return material.class_source or material.stretch_source or _("presses nothing")


_SHOWN = (
    "material", "rolls", "width_cm", "relaxed_length_cm", "thickness_mm", "curve", "low_at"
)  # fmt: skip


@allow(CLINICAL | {Role.MANAGER}, "GET", "POST")
def stock(request: ClinicRequest) -> HttpResponse:
    """The shelf; the manager adds to it."""
    manages = request.user.role == Role.MANAGER
    if request.method == "POST" and not manages:
        raise InputError(_("The manager adds materials; anyone clinical may count them."))
    form = NewItemForm(request.POST or None) if manages else None
    if form is not None and request.method == "POST" and form.is_valid():
        said = {k: v for k, v in form.cleaned_data.items() if k != "once"}
        if StockItem.objects.filter(material=said["material"], width_cm=said["width_cm"]).exists():
            form.refuse(_("This material is on the shelf in that width already: change it there."))
        else:
            set_stock_item(request.actor, None, **said)
            messages.success(request, _("On the shelf."))
            return redirect("stock")
    catalogue = shipped_catalogue()
    rows = [
        (item, catalogue[item.material], item.rolls <= item.low_at, _curve_source(item))
        for item in StockItem.objects.order_by("material", "width_cm")
    ]
    page = StockPage(rows, form, low=[row for row in rows if row[2]])
    return show(request, page, 400 if form is not None and form.errors else 200)


@allow(Role.MANAGER, "GET", "POST")
def item(request: ClinicRequest, pk: int) -> HttpResponse:
    """Sizes, low line and what came and went."""
    one = get_object_or_404(StockItem, pk=pk)
    form = ItemForm(request.POST or None, initial={name: getattr(one, name) for name in _SHOWN})
    if request.method == "POST" and form.is_valid():
        try:
            set_stock_item(request.actor, one, **form.changes())
        except InputError as error:
            form.refuse(in_language(error.said))
        else:
            messages.success(request, _("Kept."))
            return redirect("stock")
    page = ItemPage(
        form,
        material=shipped_catalogue()[one.material],
        moves=one.moves.select_related("by").order_by("-at")[:40],
    )
    return show(request, page, 400 if form.errors else 200)


@allow(CLINICAL | {Role.MANAGER}, "POST")
def count(request: ClinicRequest, pk: int) -> HttpResponse:
    """Rolls came, went or were counted."""
    one = get_object_or_404(StockItem, pk=pk)
    text = request.POST.get("change", "").strip()
    try:
        change = whole_in(text)
    except ValueError:
        raise InputError(
            _("Rolls must be a whole number such as 10 or -2; received %r: correct it.") % text[:40]
        ) from None
    stock_change(request.actor, one, change, request.POST.get("why", ""), request.POST.get("once"))
    messages.success(request, _("Counted."))
    return redirect("stock")
