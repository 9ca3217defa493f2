"""``gaiter technique``: what bandages that were read teach of the hands and of theory."""

from collections.abc import Mapping
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gaiter.cli.output import (
    AsJson,
    console,
    plain_errors,
    print_mapping,
    require_one_standard_input,
)
from gaiter.core.case.person import Training
from gaiter.core.errors import InputError

if TYPE_CHECKING:
    from gaiter.core.case import Calibration, Habit
    from gaiter.core.policy import Policy


def technique(
    applied_files: Annotated[
        list[Path],
        typer.Argument(metavar="APPLIED.json", help="As `gaiter applied --out` wrote them."),
    ],
    training: Annotated[
        Training, typer.Option(help="Training of whoever bandaged; where the record starts from.")
    ],
    today: Annotated[
        datetime, typer.Option(formats=["%Y-%m-%d"], help="What was learnt fades up to this day.")
    ],
    policy: Annotated[
        Path | None, typer.Option(help="The clinic's own policy, laid over the shipped one.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Print one person's habits and the clinic's calibration, for the case file.

    Give bandages of one person only, each of them once.
    """
    with plain_errors():
        from gaiter.core.applied.calibration import bandage_reading, learnt_calibration
        from gaiter.core.applied.habits import hand_readings, learnt_habits
        from gaiter.files.applied_file import read_bandages
        from gaiter.files.policy_file import read_policy, shipped_policy

        require_one_standard_input([*applied_files, policy])
        rules = read_policy(policy) if policy else shipped_policy()
        bandages = read_bandages(applied_files)
        day: date = today.date()
        for path, bandage in zip(applied_files, bandages, strict=True):
            if bandage.today > day:
                raise InputError(
                    f"{path}: the bandage must be of --today, {day}, or before; received "
                    f"{bandage.today}: correct --today or leave the file out"
                )
        habits = learnt_habits(
            (reading for bandage in bandages for reading in hand_readings(bandage)),
            rules.hands[training].tension_cv,
            day,
        )
        calibration = learnt_calibration(
            filter(None, (bandage_reading(bandage) for bandage in bandages)), rules
        )
    if as_json:
        print_mapping(
            {
                "bandages": len(bandages),
                "habits": {name: one.model_dump(mode="json") for name, one in habits.items()},
                "calibration": calibration.model_dump(mode="json") if calibration else None,
            }
        )
    else:
        _print(habits, calibration, rules)


def _print(
    habits: "Mapping[str, Habit]", calibration: "Calibration | None", rules: "Policy"
) -> None:
    from gaiter.core.plan.hands import calibration_in_words, habit_in_words, offsets_in_words
    from gaiter.files.learnt_entries import calibration_entry, habits_entry

    for material, habit in habits.items():
        console.print(f"{material.replace('_', ' ')}: {habit_in_words(habit)}", markup=False)
    if not habits:
        console.print("No mark spacing was read: nothing is known of the hands.", markup=False)
    for said in (calibration_in_words(calibration, rules), *offsets_in_words(calibration)):
        console.print(said.text, markup=False)
    entries = [habits_entry(habits), calibration_entry(calibration) if calibration else ""]
    console.print("\nFor the case file:\n", markup=False)
    console.print("\n\n".join(filter(None, entries)), markup=False)
