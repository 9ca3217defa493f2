"""``gaiter plan``: a measured leg in; decision, plan, drawing and sheet out."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gaiter.cli.output import console, decided, plain_errors, print_json

if TYPE_CHECKING:
    from gaiter.core.plan import Plan, SystemPlan


def plan(
    case_file: Annotated[Path, typer.Argument(metavar="CASE", help="Case, TOML or JSON.")],
    out: Annotated[Path, typer.Option(help="Folder for plan.json, leg.svg and sheet.pdf.")],
    policy: Annotated[
        Path | None, typer.Option(help="The clinic's own policy, laid over the shipped one.")
    ] = None,
    systems: Annotated[
        Path | None, typer.Option(help="The clinic's own bandage systems, beside the shipped ones.")
    ] = None,
    seed: Annotated[int | None, typer.Option(min=0, help="Seed of the spread.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the plan as JSON.")] = False,
) -> None:
    """Plan every leg of a case and write its sheet.

    Exit code 0: done; 2: bad input; 3: a leg is stopped for safety; 4: something has to be asked
    or measured first (the other legs are planned).
    """
    with plain_errors():
        # Imported here: the numerical libraries take longer to load than most commands to run.
        from gaiter.core.plan import DEFAULT_SEED
        from gaiter.core.plan import plan as make_plan
        from gaiter.files.case_file import read_case
        from gaiter.files.catalogue_file import shipped_catalogue
        from gaiter.files.plan_file import plan_json, write_folder
        from gaiter.files.policy_file import read_policy, shipped_policy
        from gaiter.files.systems_file import read_systems
        from gaiter.sheets import legs_svg, sheet_pdf

        case = read_case(case_file)
        rules = read_policy(policy) if policy else shipped_policy()
        catalogue = shipped_catalogue()
        if systems:
            catalogue = read_systems(systems, catalogue)
        made = make_plan(case, rules, catalogue, seed=DEFAULT_SEED if seed is None else seed)
        text = plan_json(made)
        files = {
            "plan.json": text.encode(),
            "leg.svg": legs_svg(made).encode(),
            "sheet.pdf": sheet_pdf(made),
        }
        write_folder(out, files)
        if as_json:
            print_json(text)
        else:
            _summary(made)
            console.print(f"Sheet: {out / 'sheet.pdf'}", markup=False)
    raise typer.Exit(decided(leg.decision.outcome for leg in made.legs.values()))


def _pads(system: "SystemPlan") -> str:
    """Every pad, and the places that are above their maximum all the same."""
    over = {point.place: point for point in system.pressure_points if point.exceeds}
    pads = [f"{place} {mm:.0f} mm" for place, mm in system.pads_mm.items()]
    words = [f"Pads of wool: {', '.join(pads)}."] if pads else []
    words += [
        f"{place}: up to {point.high_mmhg:.0f} mmHg, its maximum is {point.maximum_mmhg:.0f}"
        f"{' (surface overstates this place)' if point.overstated else ''}."
        for place, point in over.items()
    ]
    return " ".join(words)


def _summary(made: "Plan") -> None:
    for change in made.versions.policy_changes:
        console.print(f"Local policy: {change}", markup=False)
    for change in made.versions.systems_changes:
        console.print(f"Local systems: {change}", markup=False)
    for leg in made.legs.values():
        console.print(f"{leg.side.value.capitalize()} leg, {leg.purpose}", style="bold")
        console.print(f"  {leg.headline_words}", markup=False)
        for reason in leg.decision.reasons:
            if reason.code in leg.decision.limiting:
                console.print(f"  - {reason.text}", markup=False)
        if leg.status_reason not in (leg.decision.headline, leg.headline_words):
            console.print(f"  {leg.status_reason}", markup=False)
        for question in leg.surface.questions if leg.surface else ():
            console.print(f"  Question: {question}", markup=False)
        if leg.systems:
            _system(leg.systems[0])
        if leg.systems and leg.next_visit:
            why = leg.systems[0].change_reason
            console.print(f"  Next visit: {leg.next_visit} ({why})", markup=False)


def _system(system: "SystemPlan") -> None:
    console.print(f"  {system.title}: {system.outcome_reason}", markup=False)
    if system.to_accept:
        names = ", ".join(system.to_accept)
        console.print(f"    A prescriber has to accept by name: {names}", markup=False)
    for text in (system.padding.text, _pads(system), system.dressing):
        if text:
            console.print(f"    {text}", markup=False)
    for layer in system.layers:
        marks = (
            f", 10 cm marks {layer.mark_spacing_cm:.1f} cm apart on the leg"
            if layer.mark_spacing_cm
            else ""
        )
        if layer.foot_mark_spacing_cm:
            marks += f", {layer.foot_mark_spacing_cm:.1f} cm on foot and ankle"
        console.print(
            f"    {layer.number}. {layer.title}: {layer.pattern}, {layer.turns} turns, "
            f"overlap {layer.overlap:.0%}{marks}; {layer.rolls} roll"
            f"{'s' if layer.rolls > 1 else ''}",
            markup=False,
        )
