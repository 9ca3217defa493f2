"""A bandage as applied has an identity, and counts once."""

from pathlib import Path

import pytest

from gaiter.core.applied.judge import applied_pressure
from gaiter.core.applied.readings import Readings
from gaiter.files.applied_file import applied_json, read_bandages, with_identity
from gaiter.files.wording import FileError
from tests.core.applied.applied_plan import SYSTEM, marks_cm, plan

PLACES = ("ankle", "calf", "below_knee")


def readings(off_cm: float = 0.0, **changes: object) -> Readings:
    spacings = [{"layer": 3, "place": place, "cm": marks_cm() + off_cm} for place in PLACES]
    mapping = {"schema": "gaiter.readings/1", "side": "right", "system": SYSTEM}
    return Readings.model_validate({**mapping, "spacings": spacings, **changes})


def bandage(read: Readings, made=None):
    made = made or plan()
    return with_identity(applied_pressure(made, read), made, read)


def test_the_same_plan_and_readings_are_the_same_bandage() -> None:
    one = readings()
    turned = one.model_copy(update={"spacings": one.spacings[::-1]})
    again = one.model_copy(update={"confirmed": True})
    assert len(bandage(one).bandage) == 64
    assert bandage(one).bandage == bandage(turned).bandage == bandage(again).bandage


def test_other_readings_or_another_plan_are_another_bandage() -> None:
    one = bandage(readings()).bandage
    assert bandage(readings(0.1)).bandage != one
    assert bandage(readings(sensor=[{"place": "gaiter", "mmhg": 30}])).bandage != one
    other = plan().model_copy(update={"seed": 5})
    assert bandage(readings(), other).bandage != one


def written(folder: Path, name: str, applied) -> Path:
    path = folder / name
    path.write_text(applied_json(applied))
    return path


def test_a_bandage_given_twice_is_refused_with_both_paths(tmp_path: Path) -> None:
    first = written(tmp_path, "a.json", bandage(readings()))
    # Read a second time: other words in the file, the same bandage.
    second = written(tmp_path, "b.json", bandage(readings(confirmed=True)))
    other = written(tmp_path, "c.json", bandage(readings(0.1)))
    assert len(read_bandages([first, other])) == 2
    with pytest.raises(FileError) as refused:
        read_bandages([first, other, second])
    assert str(refused.value) == (
        f"{second}: is the same bandage as {first}: leave one of them out"
    )


def test_one_written_before_identities_is_read_and_known_by_its_content(tmp_path: Path) -> None:
    new = bandage(readings())
    old = written(tmp_path, "old.json", new)
    lines = [line for line in old.read_text().split("\n") if '"bandage": ' not in line]
    old.write_text("\n".join(lines).replace("],\n}", "]\n}"))
    assert read_bandages([old])[0].bandage == ""
    with pytest.raises(FileError, match="is the same bandage as"):
        read_bandages([old, written(tmp_path, "new.json", new)])
    copy = tmp_path / "copy.json"
    copy.write_text(old.read_text())
    with pytest.raises(FileError, match="is the same bandage as"):
        read_bandages([old, copy])
