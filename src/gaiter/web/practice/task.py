"""A practice task: an invented leg, or the limb at hand measured in its place."""

import tempfile
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from gaiter.core.case import Bandager, Case, Training
from gaiter.core.errors import InputError
from gaiter.core.landmark import Landmark
from gaiter.core.sensor.log import analyse_log, resting_pressure
from gaiter.core.sensor.phases import Span
from gaiter.core.sensor.spans import StatedSpans
from gaiter.core.units import CM_PER_INCH
from gaiter.files.case_file import case_from_mapping
from gaiter.files.sensor_log_file import LogColumns, read_sensor_log
from gaiter.records.actions.readings import Read
from gaiter.records.models import Account, Reading
from gaiter.records.typed import number_in

# What has to be measured of a limb; the rest is estimated, as at a visit.
_MEASURES = (
    ("girth_cm", Landmark.METATARSAL_HEADS, _("Girth at the metatarsal heads")),
    ("girth_cm", Landmark.ANKLE, _("Girth at the ankle")),
    ("girth_cm", Landmark.CALF, _("Girth at the calf")),
    ("girth_cm", Landmark.BELOW_KNEE, _("Girth below the knee")),
    ("position_cm", Landmark.ANKLE, _("Height of the ankle's girth")),
    ("position_cm", Landmark.CALF, _("Height of the calf's girth")),
    ("position_cm", Landmark.BELOW_KNEE, _("Height below the knee")),
)


@dataclass(frozen=True)
class Measure:
    """One box of the limb at hand."""

    name: str
    title: str
    value: str


@cache
def practice_mappings() -> dict[str, dict[str, Any]]:
    """Invented legs that come with the program, easiest first."""
    folder = resources.files("gaiter.data").joinpath("practice")
    return {
        file.name.removesuffix(".toml").split("-", 1)[1]: tomllib.loads(file.read_text())
        for file in sorted(folder.iterdir(), key=lambda f: f.name)
        if file.name.endswith(".toml")
    }


def practice_case(name: str) -> Case:
    """One invented leg as it comes."""
    return case_from_mapping(practice_mappings()[name], name)


def measures_of(name: str, given: Mapping[str, str], unit: str) -> list[Measure]:
    """The boxes of the limb, with what was typed or the invented leg's values."""
    leg = next(iter(practice_mappings()[name]["legs"].values()))
    boxes = []
    for table, landmark, title in _MEASURES:
        key = f"limb.{table}.{landmark}"
        cm = leg[table][landmark]
        plain = f"{cm / CM_PER_INCH:.1f}" if unit == "in" else f"{cm:g}"
        boxes.append(Measure(key, str(title), given.get(key, plain)))
    return boxes


def task_case(name: str, given: Mapping[str, str], account: Account) -> Case:
    """The task at this training; measures that were typed replace the invented leg's.

    Raises
    ------
    FileError
        Naming a measure that cannot be.
    """
    mapping = practice_mappings()[name]
    typed = {key: text for key, text in given.items() if key.startswith("limb.") and text.strip()}
    if typed:
        side, leg = next(iter(mapping["legs"].items()))
        # Places that were not measured on this limb are estimated from those that were.
        own: dict[str, Any] = {"girth_cm": {}, "position_cm": {}}
        for table, landmark, _title in _MEASURES:
            text = typed.get(f"limb.{table}.{landmark}", "")
            own[table][landmark.value] = _cm(text, account.unit)
        mapping = {**mapping, "legs": {side: {**leg, **own}}}
    case = case_from_mapping(mapping, "this limb")
    # Without the learner's habits: a plan that reckons with them asks for other marks each time.
    hands = Bandager(training=Training(account.training), initials=account.initials)
    return case.model_copy(update={"bandager": hands})


def _cm(text: str, unit: str) -> float | str:
    """Centimetres; what is no number is left for the case to refuse by name."""
    try:
        value = number_in(text)
    except ValueError:
        return text
    return round(value * CM_PER_INCH, 2) if unit == "in" else value


def _stated_rest(posted: Mapping[str, str]) -> StatedSpans | None:
    """When the limb was at rest, where it is said; found in the log where it is not."""
    texts = [posted.get(f"log-rest-{end}", "").strip() for end in ("from", "to")]
    if not any(texts):
        return None
    try:
        start, end = (number_in(text) for text in texts)
    except ValueError as error:
        raise InputError(
            gettext("Give both ends of the rest in seconds, or leave both boxes empty.")
        ) from error
    return StatedSpans(rest=Span(start, end))


def logged_readings(posted: Mapping[str, str], log: "UploadedFile[Any]") -> list[Read]:
    """Resting pressures of a sensor's log, columns as the user mapped them.

    Raises
    ------
    InputError
        Naming what is wrong with the file or the columns.
    """
    sites = {
        name.removeprefix("log-site-"): column.strip()
        for name, column in posted.items()
        if name.startswith("log-site-") and column.strip()
    }
    columns = LogColumns.stated(
        posted.get("log-time", "").strip(),
        posted.get("log-time-unit", ""),
        posted.get("log-unit", ""),
        sites,
    )
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "log.csv")
        with path.open("wb") as stream:
            for piece in log.chunks():
                stream.write(piece)
        result = analyse_log(read_sensor_log(path, columns), _stated_rest(posted))
    return [
        Read(Reading.Kind.SENSOR, 0, site.value, round(resting_pressure(result, site).mean_mmhg, 1))
        for site in columns.sites
    ]
