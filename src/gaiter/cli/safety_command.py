"""``gaiter safety``: the decision alone."""

from pathlib import Path
from typing import Annotated

import typer

from gaiter.cli.output import STOPPED_FOR_SAFETY, console, plain_errors, print_json


def safety(
    case_file: Annotated[Path, typer.Argument(metavar="CASE", help="Case, TOML or JSON.")],
    policy: Annotated[
        Path | None, typer.Option(help="The clinic's own policy, laid over the shipped one.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the decision as JSON.")] = False,
) -> None:
    """Decide whether each leg may be compressed, and up to what pressure.

    Exit code 0: every leg may be compressed; 2: bad input; 3: a leg is stopped for safety.
    """
    with plain_errors():
        from gaiter.core.safety import decide
        from gaiter.exchange.case_file import read_case
        from gaiter.exchange.policy_file import read_policy, shipped_policy

        rules = read_policy(policy) if policy else shipped_policy()
        decision = decide(read_case(case_file), rules)
    if as_json:
        print_json(decision.model_dump_json(indent=1))
    else:
        for side, leg in decision.legs.items():
            console.print(f"{side.value.capitalize()} leg: {leg.headline}", style="bold")
            for reason in leg.reasons:
                console.print(f"  {reason.kind}: {reason.text}", markup=False)
                console.print(f"    {reason.source} ({reason.strength})", markup=False)
                if reason.disagreement:
                    console.print(f"    Guidelines disagree: {reason.disagreement}", markup=False)
        for change in rules.changes:
            console.print(f"Local policy: {change}", markup=False)
    if any(not leg.maximum_mmhg for leg in decision.legs.values()):
        raise typer.Exit(STOPPED_FOR_SAFETY)
