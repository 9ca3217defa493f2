"""Printed sheets."""

from gaiter.core.draw.leg_drawing import leg_drawing
from gaiter.core.draw.profile import pressure_profile
from gaiter.core.draw.svg import Drawing
from gaiter.core.plan import LegPlan, Plan, Status
from gaiter.sheets.content import sheet_content
from gaiter.sheets.render import rendered_pdf

__all__ = ["legs_svg", "sheet_pdf"]


def sheet_pdf(plan: Plan) -> bytes:
    """The bandaging sheet of every leg of a plan, as one PDF.

    Two pages a leg: the bandager's and the prescriber's. A leg that is not to be bandaged gets
    one page that says so, and no instructions.
    """
    legs = [sheet_content(plan, leg) for leg in plan.legs.values()]
    drawings: dict[str, str] = {}
    for leg in plan.legs.values():
        drawings |= _drawings(leg)
    return rendered_pdf("sheet.typ", {"legs": legs}, drawings, plan.today)


def _drawings(leg: LegPlan) -> dict[str, str]:
    if leg.status is not Status.PLANNED:
        return {}
    system = leg.systems[0]
    return {
        f"leg-{leg.side}": leg_drawing(leg, system).to_text(),
        f"profile-{leg.side}": pressure_profile(leg, system).to_text(),
    }


def legs_svg(plan: Plan) -> str:
    """One SVG with every planned leg side by side; a stopped leg is said in words."""
    drawings = []
    for leg in plan.legs.values():
        if leg.status is Status.PLANNED:
            drawings.append(leg_drawing(leg, leg.systems[0]))
        else:
            words = f"{leg.side.value} leg: {leg.status_reason}"
            notice = Drawing(420, 60, words, words)
            notice.text(10, 34, words, font_size=14)
            drawings.append(notice)
    height = max(drawing.height for drawing in drawings)
    title = "; ".join(
        f"{leg.side.value} leg: {leg.decision.headline}" for leg in plan.legs.values()
    )
    whole = Drawing(sum(d.width for d in drawings), height, "Bandaging plan", title)
    left = 0.0
    for drawing in drawings:
        whole.place(drawing, left, height - drawing.height)
        left += drawing.width
    return whole.to_text()
