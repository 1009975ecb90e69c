"""Steps of a spike: its side chosen, a stake, ties, by its told length; cutting it, offered to the weak."""

from __future__ import annotations

from typing import TYPE_CHECKING

from carecal.plan.model import Reason
from carecal.planning.sick.buds import has_spike_rules
from carecal.planning.sick.losing import is_losing
from carecal.planning.steps.case import Case, Verdict, months_after
from carecal.planning.steps.potting import rot_since

if TYPE_CHECKING:
    from carecal.catalog.tables import SpikeStep

__all__ = ["CHOOSE", "FIRST_TIE", "STAKE", "choosing_side", "cutting_spike", "staking", "tying"]

CHOOSE, STAKE, FIRST_TIE = "choose-its-side", "stake", "first-tie"
BLOOM_WAIT_MONTHS = 12  # models G7: not yet for a year after rescue
SPIKES = frozenset({"in-spike", "in-bloom", "spent"})
UNROOTED = frozenset({"rootless", "new-tips"})


def choosing_side(case: Case) -> Verdict | None:
    """Return when a spike chooses its side: once, by its told length, before its stake (spike_steps.toml)."""
    row = case.context.catalog.spike_steps[CHOOSE]
    since = _grown_since(case, row.from_mm)
    if since is None:
        return None
    later = _grown_since(case, case.context.catalog.spike_steps[STAKE].from_mm)
    title = f"Choose the side of {case.name}'s spike: turn the pot now or not at all"
    reason = Reason(
        "spike-length", "turned later the spike twists and its flowers sit crooked", row.from_mm, "mm"
    )
    return Verdict(CHOOSE, title, since, later is None, (reason,))


def staking(case: Case) -> Verdict | None:
    """Return when a stake is set for a spike: before the first tie, until one is given (spike_steps.toml)."""
    row = case.context.catalog.spike_steps[STAKE]
    since = _grown_since(case, row.from_mm)
    if since is None or "stake" in case.state.aid_names:
        return None
    title = f"Set a stake for the spike of {case.name}, along the wall while the medium is moist"
    reason = Reason("spike-length", row.does, row.from_mm, "mm")
    return Verdict(STAKE, title, since, because=(reason,))


def tying(case: Case) -> Verdict | None:
    """Return when a spike is tied, and again, until its first flower, by the side taken of spike-tie.

    From 25 cm on and every 14 days, or early at the base and again with each so much of growth.

    Source: spike_steps.toml first-tie.
    """
    row = case.context.catalog.spike_steps[FIRST_TIE]
    since = _tie_since(case, row)
    if since is None:
        return None
    again = since > (_grown_since(case, row.from_mm) or since)
    title = f"Tie the spike of {case.name} {'again' if again else 'loosely, where its base is firm'}"
    reason = Reason("spike-length", row.does)
    return Verdict(FIRST_TIE, title, since, because=(reason,))


def _tie_since(case: Case, row: SpikeStep) -> int | None:
    """Return the day of the tie that is due now; None before the first."""
    if case.side("spike-tie") == "a" and row.other_from_mm is not None and row.other_every_mm:
        length, step = case.state.spike_mm or 0.0, row.other_every_mm
        done = int((length - row.other_from_mm) // step)
        return _grown_since(case, row.other_from_mm + done * step) if done >= 0 else None
    first = _grown_since(case, row.from_mm)
    if first is None or not row.again_days:
        return first
    return first + (case.day - first) // int(row.again_days) * int(row.again_days)


def _grown_since(case: Case, least_mm: float) -> int | None:
    """Return since when a growing spike has been told as so long; None for a kind without numbers."""
    if not has_spike_rules(case.state, case.context.catalog):
        return None
    return case.since(lambda s: s.flowering == "in-spike" and (s.spike_mm or 0) >= least_mm)


def cutting_spike(case: Case) -> Verdict | None:
    """Return what is to be decided on a spike: cut at once without roots, offered to the weak, else kept (G7, G8).

    In bloom it is never asked for without something told of the plant that makes it weak.
    """
    state = case.state
    if state.flowering == "terminal-spike":
        return Verdict(
            "cutting-a-spike",
            f"The spike of {case.name} stays",
            None,
            wanted=False,
            blocked="a terminal spike stays while it is green: it feeds the basal shoot or keiki",
        )
    if state.flowering not in SPIKES:
        return None
    since, keikis = state.flowering_since or case.line.entered, case.keikis
    if keikis:
        text = f"{keikis[0].name} sits on it: part it first"
        return Verdict("cutting-a-spike", f"The spike of {case.name} stays", None, wanted=False, blocked=text)
    title = f"Cut the spike of {case.name}"
    crown = rot_since(state, frozenset({"crown"}), case.context.catalog)
    rootless = case.since(lambda s: s.stage == "rootless" and s.flowering in SPIKES)
    if state.spike not in {"keep", "let-run"} and (crown is not None or rootless is not None):
        text = "crown rot" if crown is not None else "no roots"
        begun = max(since, crown if crown is not None else rootless or since)
        return Verdict(
            "cutting-a-spike", title, begun, urgent=Reason("weak", f"{text}: cut at once, for the roots")
        )
    if state.flowering == "spent":
        return _spent(case, title, since)
    weak = _weak(case) or (_not_yet(case) if state.flowering == "in-spike" else _told_not_yet(case))
    if not weak:
        return _one_spike(case)
    reason = Reason("bloom-policy", f"{weak}: let it run, keep it or cut it is yours to say")
    return Verdict(
        "cutting-a-spike", f"Decide on the spike of {case.name}", since, state.spike is None, (reason,)
    )


def _spent(case: Case, title: str, since: int) -> Verdict:
    if case.side("spent-spike") == "b":
        reason = Reason("side", "spent-spike: cut to the base, for the roots")
        return Verdict("cutting-a-spike", title, since, case.state.spike is None, (reason,))
    text = "green, it is a reserve and may branch or carry a keiki; cut above the 2nd node only if you say so"
    return Verdict("cutting-a-spike", title, None, wanted=False, because=(Reason("reserve", text),))


def _one_spike(case: Case) -> Verdict | None:
    """Return what is told of a plant that bears one spike and no more; None for others."""
    most = case.profile.spike_one_leaves
    if most is None or case.state.leaves is None or case.state.leaves > most:
        return None
    text = f"{case.state.leaves} leaves bear one spike at most: of two keep the stronger"
    return Verdict(
        "cutting-a-spike", f"Keep one spike of {case.name} at most", None, False, (Reason("leaves", text),)
    )


def _weak(case: Case) -> str:
    """Return what was told of a plant that makes it too weak for flowers, '' for nothing.

    Source: profiles spike_cut_leaves.
    """
    state, least = case.state, case.profile.spike_cut_leaves
    if state.stage in UNROOTED:
        return f"{(state.stage or '').replace('-', ' ')}: flowers cost what roots need"
    if is_losing(case.line, case.day, case.context.catalog):
        return "losing ground"
    if state.is_soft:
        return f"leaves are {state.firmness}"
    if least is not None and state.leaves is not None and state.leaves < least:
        return f"{state.leaves} {'leaf' if state.leaves == 1 else 'leaves'}, asks for {least}"
    return ""


def _told_not_yet(case: Case) -> str:
    return "bloom is not allowed yet" if case.state.bloom == "not-yet" else ""


def _not_yet(case: Case) -> str:
    """Return why a young spike may not run by the policy of bloom, '' where it may (models G7)."""
    state = case.state
    if state.stage != "established":
        return f"{(state.stage or 'stage unknown').replace('-', ' ')}, not yet established"
    if state.bloom == "allow":
        return ""
    came = state.came or case.line.entered
    early = case.day < months_after(came, BLOOM_WAIT_MONTHS)
    return "bloom is not allowed yet" if state.bloom == "not-yet" or early else ""
