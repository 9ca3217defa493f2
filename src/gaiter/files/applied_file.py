"""Writes a bandage as applied, ``gaiter.applied/1``, with an identity of its own."""

import hashlib
import json
from collections.abc import Sequence
from pathlib import Path

from gaiter.core.applied.document import Applied
from gaiter.core.applied.readings import Readings
from gaiter.core.plan import Plan
from gaiter.files.document_file import read_document
from gaiter.files.plan_file import fingerprint
from gaiter.files.text_file import name_of
from gaiter.files.wording import FileError, Problem


def with_identity(applied: Applied, plan: Plan, readings: Readings) -> Applied:
    """The bandage with an identity: the same plan, leg and readings are the same bandage.

    Neither the order in which readings were typed nor whether they were read a second time makes
    another bandage.
    """
    read = readings.model_dump(mode="json", exclude={"confirmed", "case", "on"})
    for name in ("spacings", "overlaps", "sensor"):
        read[name] = sorted(json.dumps(one, sort_keys=True) for one in read[name])
    told = json.dumps([fingerprint(plan), read], sort_keys=True)
    return applied.model_copy(update={"bandage": hashlib.sha256(told.encode()).hexdigest()})


def applied_json(applied: Applied) -> str:
    """The bandage as JSON text."""
    return applied.model_dump_json(by_alias=True, indent=1) + "\n"


def read_bandages(paths: Sequence[Path]) -> list[Applied]:
    """Bandages as applied, each of them once.

    Raises
    ------
    FileError
        With every problem of a file in words, or when two files are the same bandage. One written
        before bandages had an identity is known by its whole content.
    """
    bandages: list[Applied] = []
    first: dict[str, Path] = {}
    for path in paths:
        bandage = read_document(path, Applied)
        for key in filter(None, (bandage.bandage, _content(bandage))):
            if key in first:
                text = f"is the same bandage as {name_of(first[key])}: leave one of them out"
                raise FileError(name_of(path), [Problem("", text)])
            first[key] = path
        bandages.append(bandage)
    return bandages


def _content(bandage: Applied) -> str:
    bare = bandage.model_copy(update={"bandage": ""})
    return hashlib.sha256(bare.model_dump_json(by_alias=True).encode()).hexdigest()
