"""Steps of the plant itself: quarantine ended, a keiki parted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.plan.model import Reason
from carecal.planning.steps.case import Case, Verdict, told
from carecal.planning.steps.potting import rot_since

if TYPE_CHECKING:
    from carecal.catalog.tables import Step as StepRow
    from carecal.collection.plants import PlantHistory, PlantState

__all__ = ["ending_quarantine", "parting"]


def ending_quarantine(case: Case) -> Verdict | None:
    """Return when a quarantine may end: 28 clean days and three clean looks in a row; it never ends by itself."""
    state = case.state
    if state.quarantine_since is None:
        return None
    title, row = f"End the quarantine of {case.name}", case.row("ending-quarantine")
    days = row.clean_days_early if case.side("quarantine-length") == "a" else row.clean_days
    asked = state.quarantine_until or state.quarantine_since + days
    asked = max([asked, *(w.apart_until for w in state.pests if w.apart_until is not None)])
    text = f"apart since {told(state.quarantine_since)}, asked on {told(asked)}"
    because = [Reason("clean-days", text, float(days), "d")]
    pests = case.context.catalog.pests
    virus = any(
        w.pest == "virus" and w.clean_looks < pests["virus"].looks for w in state.pests if "virus" in pests
    )
    blocked = "suspicion of virus: apart for up to a year" if virus else ""
    looked = case.since(lambda s: s.quarantine_since is not None and s.clean_looks >= row.clean_looks)
    if looked is None and state.quarantine_until is None:
        text = f"{row.clean_looks} clean looks in a row are asked for"
        because.append(Reason("clean-looks", text, float(row.clean_looks)))
        ready = asked if asked > case.day else None
    else:
        ready = max(asked, looked or asked) if state.quarantine_until is None else asked
    return Verdict("ending-quarantine", title, ready, because=tuple(because), blocked=blocked)


def parting(case: Case) -> Verdict | None:
    """Return when a keiki may live by itself: two leaves, two roots, 50 mm; 25 mm where its mother fails."""
    state = case.state
    if state.mother is None:
        return None
    title = f"Part {case.name} from its mother"
    mother = case.kin.get(state.mother)
    if mother is not None and _is_basal(case.line, mother.state_at(case.day)):
        return Verdict(
            "parting-a-keiki",
            title,
            None,
            wanted=False,
            blocked="a shoot from the base stays on: it is the plant now",
        )
    failing, row = _failing_since(mother, case), case.row("parting-a-keiki")
    early = failing is not None or case.side("keiki-roots") == "a"
    least = row.longest_early_mm if early else row.longest_mm
    unknown = [word for word, count in (("leaves", state.leaves), ("roots", state.roots)) if count is None]
    unknown += ["the longest root"] if state.longest_mm is None else []
    if (
        (state.leaves or 0)
        and (state.roots or 0)
        and (state.longest_mm or 0) >= row.longest_early_mm
        and failing is not None
    ):
        text = f"its mother fails: from {row.longest_early_mm:g} mm at once"
        reason = Reason("mother-failing", text, row.longest_early_mm, "mm")
        return Verdict(
            "parting-a-keiki", title, max(failing, _grown_since(case, least) or failing), urgent=reason
        )
    asked = f"asks for {row.leaves} leaves, {row.roots} roots and a longest root of {least:g} mm"
    because = (Reason("roots", asked, least, "mm"),)
    return Verdict(
        "parting-a-keiki",
        title,
        _grown_since(case, least),
        because=because,
        window=case.window("parting-a-keiki", "plastic"),
        unknown=f"count its {', '.join(unknown)}" if unknown else "",
        ready_then=lambda day: _may_part(case.line.state_at(day), row, least),
    )


def _is_basal(line: PlantHistory, mother: PlantState) -> bool:
    """Return whether a plant is the shoot that its mother sent up after losing her crown; that one is never parted.

    Source: rescue facts; what came before the crown was lost grew on a spike.
    """
    return mother.crown_lost is not None and mother.shoot is not None and line.entered >= mother.crown_lost


def _failing_since(mother: PlantHistory | None, case: Case) -> int | None:
    """Return since when a mother is dying or gone, or None."""
    if mother is None:
        return None
    if mother.retired is not None and mother.retired_because == "lost":
        return mother.retired
    state = mother.state_at(case.day)
    crown = rot_since(state, frozenset({"crown", "root", None}), case.context.catalog)
    if crown is not None:
        return crown
    return state.day if state.stage == "rootless" and state.is_soft else None


def _may_part(state: PlantState, row: StepRow, least_mm: float) -> bool:
    return (
        (state.leaves or 0) >= row.leaves
        and (state.roots or 0) >= row.roots
        and (state.longest_mm or 0) >= least_mm
    )


def _grown_since(case: Case, least_mm: float) -> int | None:
    row = case.row("parting-a-keiki")
    return case.since(lambda s: s.mother is not None and _may_part(s, row, least_mm))
