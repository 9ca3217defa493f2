"""``gaiter safety``: the decision alone, from whatever is known."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gaiter.cli.output import (
    AsJson,
    console,
    decided,
    plain_errors,
    print_json,
    require_one_standard_input,
)

if TYPE_CHECKING:
    from gaiter.core.safety import LegDecision


def safety(
    case_file: Annotated[
        Path, typer.Argument(metavar="CASE", help="Case, TOML or JSON; - is standard input.")
    ],
    policy: Annotated[
        Path | None, typer.Option(help="The clinic's own policy, laid over the shipped one.")
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Decide whether each leg may be compressed, what is aimed at and what is never exceeded.

    Needs no girth, height, bandager or stock: what is not known is asked for. Prints the numbers
    and every reason with its source. Exit code 0: every leg may be compressed; 2: bad input; 3: a
    leg is stopped for safety; 4: something has to be asked or measured first.
    """
    with plain_errors():
        require_one_standard_input([case_file, policy])
        from gaiter.core.safety import decide
        from gaiter.files.case_file import read_safety_case
        from gaiter.files.policy_file import read_policy, shipped_policy

        rules = read_policy(policy) if policy else shipped_policy()
        decision = decide(read_safety_case(case_file), rules)
    if as_json:
        print_json(decision.model_dump_json(indent=1))
    else:
        for side, leg in decision.legs.items():
            console.print(f"{side.value.capitalize()} leg: {leg.headline}", style="bold")
            _print_leg(leg)
        for change in rules.changes:
            console.print(f"Local policy: {change}", markup=False)
    raise typer.Exit(decided(leg.outcome for leg in decision.legs.values()))


def _print_leg(leg: "LegDecision") -> None:
    numbers = ", ".join(f"{name} {value}" for name, value in leg.numbers.in_words())
    console.print(f"  {numbers}", markup=False)
    if leg.provisional_mmhg is not None:
        console.print(
            f"  Provisional level meanwhile, if a prescriber chooses it: at most "
            f"{leg.provisional_mmhg:g} mmHg",
            markup=False,
        )
    for reason in leg.reasons:
        console.print(f"  {reason.kind}: {reason.text}", markup=False)
        console.print(f"    {reason.source} ({reason.strength})", markup=False)
        if reason.disagreement:
            console.print(f"    Guidelines disagree: {reason.disagreement}", markup=False)
