"""The same thing said by several at once: it is written once, the others are told who was first."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from httpx2 import Response
from starlette.testclient import TestClient

from carecal.app import Collection
from carecal.app.actions.care import done
from carecal.app.actions.corrections import undo
from carecal.app.actions.whole_round import done_round, write_round
from carecal.app.files.upkeep import findings
from carecal.collection.entries import Done, Excepted, Observed
from carecal.errors import AlreadyDone
from tests.stories.quay import TODAY, moment
from tests.web.pages_grower import Grower
from tests.web.visitors import client_of, form_token, sign_in, task_of

JSON = {"Accept": "application/json"}
Meet = Callable[[int], None]


@pytest.fixture
def meet(monkeypatch: pytest.MonkeyPatch) -> Meet:
    """Return what makes so many writers wait for each other once each has decided what to write."""

    def at(count: int) -> None:
        barrier, met, real = threading.Barrier(count, timeout=30), threading.local(), Collection.record

        def record(collection: Collection, *entries: Any, **options: Any) -> Any:
            if not getattr(met, "has", False):
                met.has = True
                barrier.wait()
            return real(collection, *entries, **options)

        monkeypatch.setattr(Collection, "record", record)

    return at


def _ticks(folder: Path) -> list[tuple[str, str | None]]:
    """Return plant and task of what was ticked today."""
    with Collection.open(folder) as collection:
        records = collection.journal.records()
    return [(str(r.plant), r.data.get("task")) for r in records if r.kind == "done" and r.on == TODAY]


def _at_once(folder: Path, sent: dict[str, str], count: int) -> list[Response]:
    """Send one form of the round from so many browsers at the same moment."""

    def one(client: TestClient) -> Response:
        return client.post("/", data={**sent, "form_token": tokens[client]}, headers=JSON)

    clients = [client_of(folder) for _ in range(count)]
    for client in clients:
        sign_in(client)
    tokens = {client: form_token(client) for client in clients}
    with ThreadPoolExecutor(count) as pool:
        return list(pool.map(one, clients))


@pytest.mark.parametrize("count", [2, 5])
def test_a_task_tapped_at_once_is_written_once(grower: Grower, house: Path, meet: Meet, count: int) -> None:
    """Each has looked before the first one wrote: one is taken, the others learn who was first."""
    sent, before = {**task_of(grower.client, "gable"), "do": "done"}, _ticks(house)
    meet(count)
    answers = [answer.json() for answer in _at_once(house, sent, count)]
    assert len(_ticks(house)) == len(before) + 1
    assert sorted(answer["state"] for answer in answers) == ["already"] * (count - 1) + ["done"]
    late = next(answer for answer in answers if answer["state"] == "already")
    assert (late["text"], late["row"]) == ("already done 09:00 by owner", "done")


def test_the_whole_round_at_once_ticks_each_plant_once(house: Path, meet: Meet) -> None:
    """The second round finds every plant of it done."""
    before = _ticks(house)
    meet(2)
    answers = _at_once(house, {"do": "round", "sure": "1"}, 2)
    after = _ticks(house)[len(before) :]
    assert len(after) > 2
    assert len(set(after)) == len(after)
    states = sorted((answer.json()["state"], answer.json().get("text", "")) for answer in answers)
    assert [state for state, _ in states] == ["already", "round"]
    assert "is already done 09:00 by owner" in states[0][1]


def test_a_round_leaves_out_what_was_ticked_meanwhile(folder: Path) -> None:
    """Somebody ticks one plant between the round's reading and its writing: all others are written."""
    now = moment(TODAY)
    with Collection.open(folder) as slow, Collection.open(folder) as quick:
        first = iter([done_round(slow, now)])
        wanted = {getattr(entry, "plant", "") for entry in done_round(slow, now)}
        quick.record(*done(quick, now, "feeding", ["gable"]), now=now, by="Mara")
        outcome = write_round(
            lambda: next(first, None) or done_round(slow, now),
            lambda *entries: slow.record(*entries, now=now),
        )
        assert {slow.journal.id_of(r.plant or 0) for r in outcome.records} == wanted - {"gable"}


def test_two_commands_at_once_water_once(folder: Path) -> None:
    """Both have read the journal; the second is refused inside the transaction, on trial as well, and may insist."""
    now = moment(TODAY)
    with Collection.open(folder) as one, Collection.open(folder) as other:
        entries = [done(each, now, "watering", ["tide"], sure=True) for each in (one, other)]
        one.record(*entries[0], now=now, by="Mara")
        with pytest.raises(AlreadyDone, match=r"^already done 09:00 by Mara$"):
            other.record(*entries[1], now=now)
        other.record(*entries[1], now=now)  # whoever has been told and says so still means a second time
        assert [r.by for r in one.journal.records()][-2:] == ["Mara", "owner"]


def test_of_several_plants_the_one_is_named(folder: Path) -> None:
    """Nothing of the command is written."""
    now = moment(TODAY)
    with Collection.open(folder) as one, Collection.open(folder) as other:
        both = done(other, now, "watering", ["lantern", "tide"])
        one.record(*done(one, now, "watering", ["tide"]), now=now)
        head = one.journal.head()
        with pytest.raises(AlreadyDone, match="tide is already done 09:00 by owner"):
            other.record(*both, now=now, dry=True)
        assert one.journal.head() == head


def test_what_was_taken_back_meanwhile_may_be_said(folder: Path) -> None:
    """So may another care, another day, another plant, and what was only put off."""
    now = moment(TODAY)
    with Collection.open(folder) as one, Collection.open(folder) as other:
        entries = done(other, now, "watering", ["tide"])
        one.record(*done(one, now, "watering", ["tide"]), now=now)
        one.record(*undo(one, now, one.journal.head()), now=now)
        task = next(t.id for t in one.plan(TODAY).tasks if t.plant == one.number_of("tide"))
        one.record(Excepted(on=TODAY, plant="tide", task=task), now=now)
        one.record(*done(one, now, "watering", ["lantern"]), now=now)
        other.record(*entries, Done(on=TODAY, plant="gable", care="feeding", task=task), now=now)
        assert other.journal.head() == one.journal.head()


def test_a_note_sent_twice_at_once_is_kept_once(folder: Path) -> None:
    """Whatever says the same of the same day in every field is the same."""
    now, note = moment(TODAY), Observed(on=TODAY, plant="tide", note="a new leaf")
    with Collection.open(folder) as one, Collection.open(folder) as other:
        one.record(note, now=now)
        with pytest.raises(AlreadyDone, match="already written down 09:00 by owner"):
            other.record(note, now=now)
        other.record(Observed(on=TODAY, plant="tide", note="a new leaf, red"), now=now)
        assert [r.data.get("note") for r in one.journal.records()][-2:] == ["a new leaf", "a new leaf, red"]


def test_verify_finds_the_doubles_of_old(folder: Path) -> None:
    """One task answered twice on a day, and one care written twice in a second; not what was said again on purpose."""
    now = moment(TODAY)
    with Collection.open(folder) as collection:
        assert findings(collection, now) == []
        head = collection.journal.head()
        for by in ("owner", "Mara"):
            tick = Done(on=TODAY, plant="gable", care="feeding", task="task/2/1/wetting/6")
            collection.journal.append([tick], by=by, written=now.written, clock=now.clock)
        for _ in range(2):
            tick = Done(on=TODAY, plant="tide", care="watering")
            collection.journal.append([tick], by="owner", written=now.written, clock=now.clock)
        later = now.clock.replace(minute=30)
        collection.journal.append([tick], by="owner", written=later, clock=later)
        assert findings(collection, now) == [
            f"entry {head + 2} says once more what entry {head + 1} says; take one back: carecal undo {head + 2}",
            f"entry {head + 4} says once more what entry {head + 3} says; take one back: carecal undo {head + 4}",
        ]
        for entry in (head + 2, head + 4):
            collection.record(*undo(collection, now, entry), now=now)
        assert findings(collection, now) == []
