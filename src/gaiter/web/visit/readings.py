"""Readings on a bandage that lies: one form, and beside the plan what they tell."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from django.utils.translation import gettext as _

from gaiter.core.applied.document import Advice, Applied
from gaiter.core.draw.profile import applied_profile
from gaiter.core.errors import InputError
from gaiter.core.landmark import HABIT_HEIGHTS, Landmark
from gaiter.core.plan import LegPlan, SystemPlan
from gaiter.core.plan.document import Layer
from gaiter.core.sensor_site import SENSOR_SITES
from gaiter.core.units import CM_PER_INCH
from gaiter.records.actions.readings import Read, read_before
from gaiter.records.models import Bandaging, Reading
from gaiter.records.typed import number_in, whole_in

ADVICE_SIGN = {
    Advice.GOOD: "good",
    Advice.READ_MORE: "watch",
    Advice.READ_AGAIN: "watch",
    Advice.REDO: "stop",
    Advice.TAKE_OFF: "stop",
}


@dataclass(frozen=True)
class Box:
    """One box of the form, with what was read last; ``where`` says where the sensor lies."""

    name: str
    title: str
    unit: str
    value: str
    where: str = ""

    @property
    def place(self) -> str:
        """The landmark, empty for an overlap."""
        return self.name.rpartition("-")[2]


@dataclass(frozen=True)
class LayerBoxes:
    """The boxes of one stretching layer."""

    layer: Layer
    boxes: tuple[Box, ...]


def layer_boxes(system: SystemPlan, given: Mapping[str, str], unit: str) -> list[LayerBoxes]:
    """Boxes for every layer whose stretch can be read: three heights and one overlap."""
    rows = []
    for layer in system.layers:
        if layer.fabric is None:
            continue
        boxes = [
            _box(f"spacing-{layer.number}-{height}", _(_AT[height]), unit, given)
            for height in HABIT_HEIGHTS
        ]
        boxes.append(_box(f"overlap-{layer.number}-", _("overlap"), unit, given))
        rows.append(LayerBoxes(layer, tuple(boxes)))
    return rows


def sensor_boxes(system: SystemPlan, given: Mapping[str, str]) -> list[Box]:
    """A box for every reading site, the most telling first."""
    planned = {site.landmark for site in system.sites}
    return [
        replace(_box(f"sensor-0-{landmark}", _(landmark.label), "mmHg", given), where=_(site.where))
        for landmark, site in SENSOR_SITES.items()
        if landmark in planned
    ]


_AT = {
    Landmark.ANKLE: "above the ankle",
    Landmark.CALF: "calf",
    Landmark.BELOW_KNEE: "below knee",
}


def _box(name: str, title: str, unit: str, given: Mapping[str, str]) -> Box:
    return Box(name, title, unit, given.get(name, ""))


def shown_before(bandaging: Bandaging, unit: str) -> dict[str, str]:
    """Text of every box as it was read last."""
    return {
        f"{r.kind}-{r.layer}-{r.place}": _text(r, unit) for r in read_before(bandaging).values()
    }


def _text(read: Read, unit: str) -> str:
    inches = unit == "in" and read.kind != Reading.Kind.SENSOR
    return f"{read.value / CM_PER_INCH:.2f}" if inches else f"{read.value:g}"


def typed_readings(posted: Mapping[str, str], before: Mapping[str, str], unit: str) -> list[Read]:
    """What was typed and differs from what was read before.

    Raises
    ------
    InputError
        Naming a box that holds no number.
    """
    found = []
    for name, text in posted.items():
        kind, _dash, rest = name.partition("-")
        number, _dash, place = rest.partition("-")
        if kind not in Reading.Kind.values or not _layer_named(number) or not text.strip():
            continue
        if text.strip() == before.get(name):
            continue
        try:
            value = number_in(text)
        except ValueError as error:
            raise InputError(
                _("A reading must be a number; received {text}: read again.").format(text=text[:20])
            ) from error
        if unit == "in" and kind != Reading.Kind.SENSOR:
            value = round(value * CM_PER_INCH, 2)
        found.append(Read(kind, int(number), place, value))
    return found


def _layer_named(number: str) -> bool:
    """Whether a box names a layer; 0 is the whole bandage, which a sensor reads."""
    try:
        return whole_in(number) >= 0
    except ValueError:
        return False


@dataclass(frozen=True)
class AppliedView:
    """What readings told, ready for a page."""

    applied: Applied
    sign: str
    drawing: str


def applied_view(leg: LegPlan, document: str) -> AppliedView:
    """A recorded document with its drawing."""
    applied = Applied.model_validate_json(document)
    return AppliedView(
        applied,
        ADVICE_SIGN[applied.advice],
        applied_profile(leg, applied, translate=_).to_text(),
    )
