"""What was read on a bandage, and what it tells: kept together, advice included."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from pydantic import BaseModel, ValidationError

from gaiter.core.applied.document import Applied
from gaiter.core.applied.judge import applied_pressure
from gaiter.core.applied.readings import Overlap, Readings, SensorValue, Spacing
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.core.problems import problems_of
from gaiter.core.words import SEMICOLON, Said, joined
from gaiter.records.actions.closed import require_unsigned
from gaiter.records.ledger import Actor, action
from gaiter.records.models import AppliedRecord, Bandaging, Reading
from gaiter.records.read.documents import leg_of, plan_of
from gaiter.records.read.habits import hands_of, sensor_of

# Kind of reading, layer, place.
Key = tuple[str, int, str]


@dataclass(frozen=True)
class Read:
    """One value as it was typed: kind of reading, layer (0: the whole bandage), place, value."""

    kind: str
    layer: int
    place: str
    value: float

    @property
    def key(self) -> Key:
        """What it is a reading of; a later one replaces it."""
        return self.kind, self.layer, self.place


def record_readings(
    actor: Actor,
    bandaging: Bandaging,
    read: Sequence[Read],
    once: str | None = None,
    *,
    confirmed: bool = False,
) -> AppliedRecord | None:
    """Keeps readings with the pressure as applied and the advice that follow from all of them.

    ``confirmed`` says that everything was read a second time, so that contradictions stand.
    Returns None for a bandage whose plan kept no spread: the readings are kept, nothing follows.

    Raises
    ------
    InputError
        If nothing was read, or a value cannot have been read on this bandage.
    """
    nothing_new = _("Nothing new was read: type a spacing, an overlap or a sensor's value.")
    if not (read or confirmed):
        raise InputError(nothing_new)
    plan = plan_of(bandaging.plan)
    leg = leg_of(plan)
    system = leg.systems[0]

    def told(before: Mapping[Key, Read]) -> Applied | None:
        both = {**before, **{new.key: new for new in read}}
        readings = readings_of(leg.side, system.name, list(both.values()))
        readings = readings.model_copy(update={"confirmed": confirmed})
        if system.basis is None or not (readings.spacings or readings.sensor):
            return None
        return applied_pressure(plan, readings)

    seen = read_before(bandaging)
    # Reckoned before anybody has to wait for it.
    applied = told(seen)
    with action(actor, "record readings", bandaging.visit, once=once) as act:
        if act.read(bandaging).undone_at is not None:
            raise InputError(_("This bandage was undone: nothing is read on it."))
        require_unsigned(bandaging.visit)
        before = read_before(bandaging)
        if before != seen:
            applied = told(before)
        # What was read before and reads the same now is kept already.
        newest = {new.key: new for new in read}
        fresh = [one for one in newest.values() if before.get(one.key) != one]
        if not (fresh or confirmed):
            raise InputError(nothing_new)
        for one in fresh:
            act.create(
                Reading, bandaging=bandaging, kind=one.kind, layer=one.layer, place=one.place,
                value=one.value, by=actor.account, at=act.at,
            )  # fmt: skip
        if applied is None:
            return None
        return act.create(
            AppliedRecord, bandaging=bandaging, advice=applied.advice.value,
            document=applied.model_dump_json(by_alias=True), system=applied.system,
            hands=hands_of(applied), sensor=sensor_of(applied),
            by=actor.account, at=act.at,
        )  # fmt: skip


def read_before(bandaging: Bandaging) -> dict[Key, Read]:
    """What was read so far, the latest value of each."""
    rows = bandaging.readings.order_by("pk").values_list("kind", "layer", "place", "value")
    return {read.key: read for read in (Read(*row) for row in rows)}


def readings_of(side: str, system: str, read: Sequence[Read]) -> Readings:
    """What was typed as a ``gaiter.readings/1`` document.

    Raises
    ------
    InputError
        Naming the value that cannot be.
    """
    spacings = [r for r in read if r.kind == Reading.Kind.SPACING]
    overlaps = [r for r in read if r.kind == Reading.Kind.OVERLAP]
    sensor = [r for r in read if r.kind == Reading.Kind.SENSOR]
    known = {r.kind for r in read} - set(Reading.Kind.values)
    if known:
        raise InputError(_("Say whether it is a mark spacing, an overlap or a sensor's value."))
    parts: dict[str, Any] = {
        "spacings": [
            _valid(r, lambda r: Spacing(layer=r.layer, place=Landmark(r.place), cm=r.value))
            for r in spacings
        ],
        "overlaps": [_valid(r, lambda r: Overlap(layer=r.layer, cm=r.value)) for r in overlaps],
        "sensor": [
            _valid(r, lambda r: SensorValue(place=Landmark(r.place), mmhg=r.value)) for r in sensor
        ],
    }
    if not (spacings or sensor):
        # An overlap is kept until a spacing or a sensor's value gives it meaning.
        return Readings.model_construct(**parts)
    return Readings.model_validate(
        {"schema": "gaiter.readings/1", "side": side, "system": system, **parts}
    )


def _valid(read: Read, made: Callable[[Read], Any]) -> Any:
    """The record of a reading, or one sentence that names it."""
    try:
        return made(read)
    except ValidationError as error:
        models: dict[str, type[BaseModel]] = {
            Reading.Kind.SPACING: Spacing,
            Reading.Kind.OVERLAP: Overlap,
            Reading.Kind.SENSOR: SensorValue,
        }
        model = models[read.kind]
        said = joined((problem.said for problem in problems_of(error, model)), SEMICOLON)
        where = Said("layer {number}", {"number": read.layer}) if read.layer else Said("sensor")
        place = Said(read.place.replace("_", " "))
        raise InputError(
            Said("{where}, {place}: {problems}", {"where": where, "place": place, "problems": said})
        ) from error
    except ValueError as error:
        raise InputError(
            _("A reading's place must be one of the leg's; received {place}: choose one.").format(
                place=read.place[:30]
            )
        ) from error
