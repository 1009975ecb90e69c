"""The fold of one plant's entries into its history: what each kind of entry changes. It reads no journal."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import TYPE_CHECKING, Any, NamedTuple

from carecal.collection.fold_sick import beside, felt, found, new_root, seen_of_weak, strength, treated, tried
from carecal.collection.plant_states import Announcement, PlantState
from carecal.collection.stages import StageRules, next_stage

if TYPE_CHECKING:
    from carecal.collection.plants import PlantHistory
    from carecal.collection.records import Record

__all__ = ["NEWCOMER_DAYS", "FoldRules", "fold_record"]

NEWCOMER_DAYS = (
    28  # who came less long ago begins in quarantine: clean_days of ending-quarantine in steps.toml
)
MOISTENING_AIDS = ("cloth", "moss-collar")
COUNTED = ("roots", "longest_mm", "tips", "leaves")


class FoldRules(NamedTuple):
    """What the fold of a plant needs of the tables: the stages in order, and the containers that have a reservoir."""

    stages: StageRules
    reservoirs: frozenset[str]


def fold_record(line: PlantHistory, record: Record, rules: FoldRules) -> None:
    """Fold one of a plant's records into its history; a kind that says nothing of the plant changes nothing."""
    line.newest_written = max(line.newest_written, record.written)
    if record.kind in _PLAIN:
        _PLAIN[record.kind](line, record)
    elif record.kind in _BY_RULES:
        _BY_RULES[record.kind](line, record, rules)


def _added(line: PlantHistory, r: Record, rules: FoldRules) -> None:
    data, day = r.data, r.on.toordinal()
    came = _day(data.get("came"))
    state = PlantState(
        day=day,
        entry=r.n,
        written=r.written,
        profile=data.get("profile") or "phalaenopsis",
        medium=data.get("medium"),
        container=data.get("container"),
        size_cm=data.get("size_cm"),
        place=data.get("place"),
        flowering=data.get("flowering") or "none",
        potted=_day(data.get("potted")),
        came=came,
        flowering_since=day if data.get("flowering") else None,
        flowering_told=day if data.get("flowering") else None,
        aids=tuple((aid, day) for aid in data.get("aids") or ()),
        mother=data.get("on_mother"),
        roots=data.get("roots"),
        longest_mm=data.get("longest_mm"),
        tips=data.get("tips"),
        plug=data.get("plug"),
        leaves=data.get("leaves"),
        quarantine_since=came if came is not None and day - came < NEWCOMER_DAYS else None,
    )
    observed = next_stage(rules.stages, None, state.roots, state.longest_mm, state.leaves)
    state = state._replace(observed_stage=observed, hand_stage=data.get("stage"), observed_when_set=observed)
    if state.container in rules.reservoirs:
        grown = state.stage in {"rooting-in", "established"}
        state = state._replace(reservoir=data.get("reservoir") or ("filled" if grown else "empty"))
    line.entered, line.watered, line.note = day, _day(data.get("watered")), data.get("note") or ""
    line.states.append(state)
    line.counts.append((day, state))
    line.measured.extend((day, key, data[key]) for key in COUNTED if data.get(key) is not None)
    line.happen(r, "added", prior=_prior(data))


def _day(text: str | None) -> int | None:
    return date.fromisoformat(text).toordinal() if text else None


def _prior(data: Mapping[str, Any]) -> tuple[float, float] | None:
    return (data["prior_mean"], data["prior_sd"]) if data.get("prior_sd") is not None else None


def _looked(line: PlantHistory, record: Record, *, clean: bool) -> None:
    """Count a look for quarantine and pest-watch; a look without a find is a clean one."""
    state, day = line.latest, record.on.toordinal()
    if not clean:
        return
    pests = tuple(
        w._replace(clean_looks=w.clean_looks + 1, last_look=day) if w.last_look < day else w
        for w in state.pests
    )
    if pests != state.pests or state.quarantine_since is not None:
        line.change(record, pests=pests, clean_looks=state.clean_looks + 1)


def _done(line: PlantHistory, r: Record) -> None:
    data = r.data
    care = data["care"]
    extra = {k: data.get(k) for k in ("felt", "weight_g", "ec_ms_cm", "ppm_n", "task", "aid")}
    if care == "inspection":
        line.happen(r, "look", care=care, task=data.get("task"))
        _looked(line, r, clean=True)
    elif care == "moistening" and (data.get("aid") or line.latest.stage != "rootless"):
        given = [name for name in MOISTENING_AIDS if name in line.latest.aid_names]
        extra["aid"] = data.get("aid") or (given[0] if given else None)
        line.happen(r, "aid", care=care, **extra)
    else:
        rain, unseen = bool(data.get("rain")), bool(data.get("unseen"))
        line.happen(r, "wet", care=care, rain=rain, unseen=unseen, **extra)


def _left(line: PlantHistory, r: Record) -> None:
    data = r.data
    line.happen(
        r,
        "left",
        care=data["care"],
        felt=data.get("felt", "damp"),
        again_days=data.get("again_days"),
        task=data.get("task"),
        aid=data.get("aid"),
    )
    _looked(line, r, clean=True)


def _excepted(line: PlantHistory, r: Record) -> None:
    line.happen(r, "excepted", task=r.data["task"])


def _missed(line: PlantHistory, r: Record) -> None:
    data = r.data
    line.happen(r, "missed", care=data.get("care", "watering"))


def _observed(line: PlantHistory, r: Record, rules: FoldRules) -> None:
    data = r.data
    old, day = line.latest, r.on.toordinal()
    keys = ("roots", "longest_mm", "tips", "leaves", "growths")
    values: dict[str, Any] = {key: data[key] for key in keys if data.get(key) is not None}
    values = new_root(old, values, data.get("newest_mm"))
    seen_counts = {k: values.get(k, getattr(old, k)) for k in ("roots", "longest_mm", "leaves")}
    observed = next_stage(rules.stages, old.observed_stage, **seen_counts)
    values["observed_stage"] = observed
    if data.get("stage") is not None:
        values.update(hand_stage=data["stage"], observed_when_set=observed)
    elif old.hand_stage is not None and observed != old.observed_when_set:
        values["hand_stage"] = None
    if data.get("flowering") is not None and data["flowering"] != old.flowering:
        values.update(flowering=data["flowering"], flowering_since=day)
    values.update(seen_of_weak(data, day))
    if data.get("seen"):
        values["pests"] = found(old, data["seen"], day, data.get("where"))
        values.update(last_find=day, clean_looks=0)
        if old.quarantine_since is not None:
            values.update(quarantine_since=day, quarantine_until=None)
    line.change(r, **values)
    line.happen(r, "look", care="inspection", task=data.get("task"), text=data.get("note") or "")
    if not data.get("seen"):
        _looked(line, r, clean=True)
    line.counts.append((day, line.latest))
    line.measured.extend((day, key, values[key]) for key in COUNTED if key in values)
    felt(line, day, values)
    if data.get("photo"):
        line.photos.append((day, data["photo"]))


def _pot(line: PlantHistory, r: Record, rules: FoldRules) -> None:
    data = r.data
    old, day = line.latest, r.on.toordinal()
    has_reservoir = data["container"] in rules.reservoirs
    converted = has_reservoir and old.container not in rules.reservoirs
    line.change(
        r,
        medium=data["medium"],
        container=data["container"],
        size_cm=data.get("size_cm") or old.size_cm,
        potting=old.potting + 1,
        potted=day,
        newest_mm=None,
        newest_on=None,
        plug=None,  # it comes out with the old medium
        mother=None,
        waits_long=converted or bool(data.get("pruned")),
        reservoir=("filled" if data.get("filled") else "empty") if has_reservoir else None,
    )
    line.announced = [a for a in line.announced if a.kind != "potting"]
    line.happen(r, "potted", watered=bool(data.get("watered", True)), prior=_prior(data))


def _part(line: PlantHistory, r: Record, rules: FoldRules) -> None:
    data = r.data
    if data.get("place"):
        line.change(r, place=data["place"])
    _pot(line, r, rules)


def _move(line: PlantHistory, r: Record) -> None:
    data = r.data
    line.change(r, place=data["place"])
    line.announced = [a for a in line.announced if a.kind != "moving"]
    if data.get("prior_sd") is not None:
        line.happen(r, "moved", prior=_prior(data))


def _announce(line: PlantHistory, r: Record) -> None:
    data = r.data
    day = date.fromisoformat(data["day"]).toordinal()
    kind = "moving" if r.kind == "move-planned" else "potting"
    line.announced.append(
        Announcement(
            r.n,
            kind,
            day,
            r.written,
            place=data.get("place"),
            medium=data.get("medium"),
            container=data.get("container"),
            size_cm=data.get("size_cm"),
        )
    )


def _aid(line: PlantHistory, r: Record) -> None:
    data = r.data
    rest = tuple((name, since) for name, since in line.latest.aids if name != data["aid"])
    values: dict[str, Any] = {"aids": rest if data.get("off") else (*rest, (data["aid"], r.on.toordinal()))}
    if data["aid"] == "wrap" and not data.get("off"):
        values.update(newest_mm=None, newest_on=None)  # roots are counted anew from the wrapping
    line.change(r, **values)


def _reservoir(line: PlantHistory, r: Record) -> None:
    data = r.data
    line.change(r, reservoir=data["to"])


def _quarantine(line: PlantHistory, r: Record) -> None:
    data = r.data
    if data.get("end"):
        line.change(r, quarantine_since=None, quarantine_until=None)
        return
    since = line.latest.quarantine_since
    line.change(
        r,
        quarantine_since=since if since is not None else r.on.toordinal(),
        quarantine_until=_day(data.get("until")),
        clean_looks=0 if since is None else line.latest.clean_looks,
    )


def _gate(line: PlantHistory, r: Record) -> None:
    data = r.data
    held = line.latest.gates_open - {data["gate"]}
    line.change(r, gates_open=held | {data["gate"]} if data["to"] == "open" else held)


def _bloom(line: PlantHistory, r: Record) -> None:
    data = r.data
    line.change(r, bloom=data["to"])


def _spike(line: PlantHistory, r: Record) -> None:
    data = r.data
    values: dict[str, Any] = {"spike": data["to"]}
    if data["to"] == "cut":
        values.update(flowering="none", flowering_since=r.on.toordinal(), spike_mm=None)
    line.change(r, **values)


def _weigh(line: PlantHistory, r: Record) -> None:
    data = r.data
    line.happen(r, "weighed", weight_g=data["weight_g"], mark=data.get("mark"))


def _rename(line: PlantHistory, r: Record) -> None:
    data = r.data
    line.id, line.name = data.get("to") or line.id, data.get("name") or line.name


def _retire(line: PlantHistory, r: Record) -> None:
    data = r.data
    line.retired, line.retired_because = r.on.toordinal(), data["because"]


_PLAIN: dict[str, Callable[[PlantHistory, Record], None]] = {
    "done": _done,
    "left": _left,
    "excepted": _excepted,
    "missed": _missed,
    "moved": _move,
    "move-planned": _announce,
    "potting-planned": _announce,
    "aid": _aid,
    "reservoir": _reservoir,
    "quarantine": _quarantine,
    "gate": _gate,
    "bloom": _bloom,
    "spike": _spike,
    "weighed": _weigh,
    "treated": treated,
    "beside": beside,
    "tried": tried,
    "feed-strength": strength,
    "renamed": _rename,
    "retired": _retire,
}
_BY_RULES: dict[str, Callable[[PlantHistory, Record, FoldRules], None]] = {
    "added": _added,
    "observed": _observed,
    "potted": _pot,
    "parted": _part,
}
