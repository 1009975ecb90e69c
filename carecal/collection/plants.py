"""The fold of one plant's entries: its states from day to day and what happened to it, in day ordinals."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, field
from datetime import date
from math import inf
from typing import TYPE_CHECKING, Any

from carecal.collection.plant_states import (
    Announcement,
    Event,
    PestWatch,
    PlantState,
)
from carecal.collection.stages import StageRules, next_stage

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from carecal.collection.records import Record

__all__ = ["Announcement", "Event", "PestWatch", "PlantHistory", "PlantState"]

NEWCOMER_DAYS = (
    28  # who came less long ago begins in quarantine: clean_days of ending-quarantine in steps.toml
)
WETTINGS = frozenset({"watering", "refilling", "feeding", "flushing"})
MOISTENING_AIDS = ("cloth", "moss-collar")
COUNTED = ("roots", "longest_mm", "tips", "leaves")


@dataclass(slots=True)
class PlantHistory:
    """A plant's whole line: identity, states by day, events by day."""

    number: int
    id: str
    name: str
    entered: int
    watered: int | None = None
    states: list[PlantState] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)
    counts: list[tuple[int, PlantState]] = field(default_factory=list)  # observation days, the state after
    measured: list[tuple[int, str, float]] = field(default_factory=list)  # day, what was counted, its number
    announced: list[Announcement] = field(default_factory=list)
    retired: int | None = None
    retired_because: str | None = None
    merged_into: int | None = None
    note: str = ""
    photos: list[tuple[int, str]] = field(default_factory=list)
    newest_written: str = ""

    def state_at(self, day: int) -> PlantState:
        """Return the state in force on a day; the first one before it begins."""
        return self.states[max(bisect_right(self.states, (day, inf)) - 1, 0)]  # they begin with day and entry

    @property
    def latest(self) -> PlantState:
        """The newest state."""
        return self.states[-1]

    def take(self, record: Record, rules: StageRules, reservoirs: frozenset[str]) -> None:
        """Fold one of the plant's records; `reservoirs` are the containers that have one."""
        self.newest_written = max(self.newest_written, record.written)
        if record.kind == "added":
            self._add(record, rules, reservoirs)
        elif record.kind == "observed":
            _observed(self, record, record.data, rules)
        elif record.kind == "potted":
            _pot(self, record, record.data, reservoirs)
        elif record.kind == "parted":
            _part(self, record, record.data, reservoirs)
        elif record.kind in _HANDLERS:
            _HANDLERS[record.kind](self, record, record.data)

    def change(self, record: Record, **values: Any) -> None:
        """Begin a new state on the record's day."""
        day = record.on.toordinal()
        state = self.states[-1]._replace(day=day, entry=record.n, written=record.written, **values)
        if self.states[-1].day == day:
            self.states[-1] = state
        else:
            self.states.append(state)

    def happen(self, record: Record, kind: str, **values: Any) -> None:
        """Add an event on the record's day."""
        self.events.append(
            Event(record.on.toordinal(), record.n, kind, written=record.written, by=record.by, **values)
        )

    def _add(self, record: Record, rules: StageRules, reservoirs: frozenset[str]) -> None:
        data, day = record.data, record.on.toordinal()
        came = _day(data.get("came"))
        state = PlantState(
            day=day, entry=record.n, written=record.written,
            profile=data.get("profile") or "phalaenopsis", medium=data.get("medium"),
            container=data.get("container"), size_cm=data.get("size_cm"), place=data.get("place"),
            flowering=data.get("flowering") or "none", potted=_day(data.get("potted")), came=came,
            flowering_since=day if data.get("flowering") else None,
            aids=tuple((aid, day) for aid in data.get("aids") or ()), mother=data.get("on_mother"),
            roots=data.get("roots"), longest_mm=data.get("longest_mm"), tips=data.get("tips"),
            leaves=data.get("leaves"),
            quarantine_since=came if came is not None and day - came < NEWCOMER_DAYS else None,
        )  # fmt: skip
        observed = next_stage(rules, None, state.roots, state.longest_mm, state.leaves)
        state = state._replace(
            observed_stage=observed, hand_stage=data.get("stage"), observed_when_set=observed
        )
        if state.container in reservoirs:
            grown = state.stage in {"rooting-in", "established"}
            state = state._replace(reservoir="filled" if grown else "empty")
        self.entered, self.watered, self.note = day, _day(data.get("watered")), data.get("note") or ""
        self.states.append(state)
        self.counts.append((day, state))
        self.measured.extend((day, key, data[key]) for key in COUNTED if data.get(key) is not None)
        self.happen(record, "added", prior=_prior(data))


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


def _done(line: PlantHistory, r: Record, data: Mapping[str, Any]) -> None:
    care = data["care"]
    extra = {k: data.get(k) for k in ("felt", "weight_g", "ec_ms_cm", "task", "aid")}
    if care == "inspection":
        line.happen(r, "look", care=care, task=data.get("task"))
        _looked(line, r, clean=True)
    elif care == "moistening" and (data.get("aid") or line.latest.stage != "rootless"):
        given = [name for name in MOISTENING_AIDS if name in line.latest.aid_names]
        extra["aid"] = data.get("aid") or (given[0] if given else None)
        line.happen(r, "aid", care=care, **extra)
    else:
        line.happen(r, "wet", care=care, rain=bool(data.get("rain")), **extra)


def _left(line: PlantHistory, r: Record, data: Mapping[str, Any]) -> None:
    line.happen(
        r, "left", care=data["care"], felt=data.get("felt", "damp"), again_days=data.get("again_days"),
        task=data.get("task"), aid=data.get("aid"),
    )  # fmt: skip
    _looked(line, r, clean=True)


def _excepted(line: PlantHistory, r: Record, data: Mapping[str, Any]) -> None:
    line.happen(r, "excepted", task=data["task"])


def _missed(line: PlantHistory, r: Record, data: Mapping[str, Any]) -> None:
    line.happen(r, "missed", care=data.get("care", "watering"))


def _observed(line: PlantHistory, r: Record, data: Mapping[str, Any], rules: StageRules) -> None:
    old, day = line.latest, r.on.toordinal()
    keys = ("roots", "longest_mm", "tips", "leaves", "firmness", "growths")
    values: dict[str, Any] = {key: data[key] for key in keys if data.get(key) is not None}
    seen_counts = {k: values.get(k, getattr(old, k)) for k in ("roots", "longest_mm", "leaves")}
    observed = next_stage(rules, old.observed_stage, **seen_counts)
    values["observed_stage"] = observed
    if data.get("stage") is not None:
        values.update(hand_stage=data["stage"], observed_when_set=observed)
    elif old.hand_stage is not None and observed != old.observed_when_set:
        values["hand_stage"] = None
    if data.get("flowering") is not None and data["flowering"] != old.flowering:
        values.update(flowering=data["flowering"], flowering_since=day)
    if data.get("shows_unknown"):
        values["shows_unknown"] = True
    if data.get("seen"):
        others = tuple(w for w in old.pests if w.pest != data["seen"])
        values["pests"] = (*others, PestWatch(data["seen"], day, 0, day, data.get("where")))
        values.update(last_find=day, clean_looks=0)
        if old.quarantine_since is not None:
            values.update(quarantine_since=day, quarantine_until=None)
    line.change(r, **values)
    line.happen(r, "look", care="inspection", task=data.get("task"), text=data.get("note") or "")
    if not data.get("seen"):
        _looked(line, r, clean=True)
    line.counts.append((day, line.latest))
    line.measured.extend((day, key, values[key]) for key in COUNTED if key in values)
    if data.get("photo"):
        line.photos.append((day, data["photo"]))


def _pot(line: PlantHistory, r: Record, data: Mapping[str, Any], reservoirs: frozenset[str]) -> None:
    old, day = line.latest, r.on.toordinal()
    has_reservoir = data["container"] in reservoirs
    converted = has_reservoir and old.container not in reservoirs
    line.change(
        r, medium=data["medium"], container=data["container"], size_cm=data.get("size_cm") or old.size_cm,
        potting=old.potting + 1, potted=day, mother=None,
        waits_long=converted or bool(data.get("pruned")),
        reservoir=("filled" if data.get("filled") else "empty") if has_reservoir else None,
    )  # fmt: skip
    line.announced = [a for a in line.announced if a.kind != "potting"]
    line.happen(r, "potted", watered=bool(data.get("watered", True)), prior=_prior(data))


def _part(line: PlantHistory, r: Record, data: Mapping[str, Any], reservoirs: frozenset[str]) -> None:
    if data.get("place"):
        line.change(r, place=data["place"])
    _pot(line, r, data, reservoirs)


def _move(line: PlantHistory, r: Record, data: Mapping[str, Any]) -> None:
    line.change(r, place=data["place"])
    line.announced = [a for a in line.announced if a.kind != "moving"]
    if data.get("prior_sd") is not None:
        line.happen(r, "moved", prior=_prior(data))


def _announce(line: PlantHistory, r: Record, data: Mapping[str, Any]) -> None:
    day = date.fromisoformat(data["day"]).toordinal()
    kind = "moving" if r.kind == "move-planned" else "potting"
    text = data["place"] if kind == "moving" else f"{data['medium']} in {data['container']}"
    line.announced.append(Announcement(r.n, kind, day, r.written, text))


def _aid(line: PlantHistory, r: Record, data: Mapping[str, Any]) -> None:
    rest = tuple((name, since) for name, since in line.latest.aids if name != data["aid"])
    line.change(r, aids=rest if data.get("off") else (*rest, (data["aid"], r.on.toordinal())))


def _reservoir(line: PlantHistory, r: Record, data: Mapping[str, Any]) -> None:
    line.change(r, reservoir=data["to"])


def _quarantine(line: PlantHistory, r: Record, data: Mapping[str, Any]) -> None:
    if data.get("end"):
        line.change(r, quarantine_since=None, quarantine_until=None)
        return
    since = line.latest.quarantine_since
    line.change(
        r, quarantine_since=since if since is not None else r.on.toordinal(),
        quarantine_until=_day(data.get("until")), clean_looks=0 if since is None else line.latest.clean_looks,
    )  # fmt: skip


def _gate(line: PlantHistory, r: Record, data: Mapping[str, Any]) -> None:
    held = line.latest.gates_open - {data["gate"]}
    line.change(r, gates_open=held | {data["gate"]} if data["to"] == "open" else held)


def _bloom(line: PlantHistory, r: Record, data: Mapping[str, Any]) -> None:
    line.change(r, bloom=data["to"])


def _spike(line: PlantHistory, r: Record, data: Mapping[str, Any]) -> None:
    values: dict[str, Any] = {"spike": data["to"]}
    if data["to"] == "cut":
        values.update(flowering="none", flowering_since=r.on.toordinal())
    line.change(r, **values)


def _weigh(line: PlantHistory, r: Record, data: Mapping[str, Any]) -> None:
    line.happen(r, "weighed", weight_g=data["weight_g"], mark=data.get("mark"))


def _rename(line: PlantHistory, _: Record, data: Mapping[str, Any]) -> None:
    line.id, line.name = data.get("to") or line.id, data.get("name") or line.name


def _retire(line: PlantHistory, r: Record, data: Mapping[str, Any]) -> None:
    line.retired, line.retired_because = r.on.toordinal(), data["because"]
    line.merged_into = data.get("into")


_HANDLERS: dict[str, Callable[[PlantHistory, Record, Mapping[str, Any]], None]] = {
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
    "renamed": _rename,
    "retired": _retire,
}
