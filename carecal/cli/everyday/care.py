"""`carecal done`, `leave`, `missed` and `weigh`: care carried out or not."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from carecal.app.lazy import LazyModule
from carecal.cli.context import Session, pass_session, writing
from carecal.cli.everyday.shared import on_option
from carecal.cli.types import GRAMS, NUMBER, PLANT

if TYPE_CHECKING:
    from datetime import date

    from carecal.app.actions import assumed as actions_assumed
    from carecal.app.actions import care as actions
    from carecal.app.actions import looks as actions_looks
    from carecal.app.actions import whole_round as actions_round
else:  # each command needs one of them
    actions_assumed = LazyModule("carecal.app.actions.assumed")
    actions = LazyModule("carecal.app.actions.care")
    actions_looks = LazyModule("carecal.app.actions.looks")
    actions_round = LazyModule("carecal.app.actions.whole_round")

__all__ = ["confirm", "done", "leave", "missed", "weigh"]

FILLING = frozenset({("over", "look"), ("after", "look")})  # as the round prints it: look over
AID = click.Choice(["cloth", "moss-collar"])


@click.command()
@click.argument("words", nargs=-1, metavar="[CARE ID...]", type=PLANT)
@click.option("--round", "whole_round", is_flag=True, help="The whole round of the day as planned.")
@click.option("--except", "excepted", multiple=True, type=PLANT, metavar="ID", help="Left out of the round.")
@click.option("--damp", multiple=True, type=PLANT, metavar="ID", help="Still damp, so looked at and left.")
@on_option()
@click.option("--felt", type=click.Choice(["parched", "right", "damp"]), help="How the medium felt before.")
@click.option("--weight", type=GRAMS, metavar="G", help="What the pot weighed before. [g]")
@click.option("--ec", type=NUMBER, metavar="MS", help="Conductivity of the drained water. [mS/cm]")
@click.option("--ppm", type=NUMBER, metavar="PPM", help="Strength of the feed poured, as nitrogen. [mg/L]")
@click.option("--task", metavar="ID", help="The task that it answers.")
@click.option("--aid", type=AID, help="The aid that was moistened.")
@writing
@pass_session
def done(
    session: Session,
    words: tuple[str, ...],
    whole_round: bool,
    excepted: tuple[str, ...],
    damp: tuple[str, ...],
    on: date | None,
    felt: str | None,
    weight: float | None,
    ec: float | None,
    ppm: float | None,
    task: str | None,
    aid: str | None,
) -> None:
    """Say that a care was carried out.

    CARE is what the round prints: water, feed, flush, refill, moisten or look over.

    \b
    carecal done water tide gable --felt right
    carecal done --round --except pebble --damp gull
    """  # noqa: D301 - click keeps the lines behind this sign as they are
    collection, now = session.open(), session.sound_now()
    if whole_round:
        if any(value is not None for value in (weight, ec, ppm, task, aid)):
            raise click.UsageError("--round goes with --except, --damp, --felt and --on alone")
        if words and not (excepted or damp):
            raise click.UsageError(f"--round names no care; to leave {words[0]} out say --except {words[0]}")
        out, left = _names_of_round(excepted, damp, words)
        actions_round.write_round(
            lambda: actions_round.done_round(collection, now, on=on, excepted=out, damp=left, felt=felt),
            session.write,
        )
        return
    if excepted or damp:
        raise click.UsageError(f"--{'except' if excepted else 'damp'} goes with --round")
    care, ids = _in_order(words, "done")
    if not ids:
        raise click.UsageError("say a care and at least one plant, as done water tide, or done --round")
    entries = actions.done(
        collection,
        now,
        care,
        ids,
        on=on,
        felt=felt,
        weight_g=weight,
        ec_ms_cm=ec,
        ppm_n=ppm,
        task=task,
        aid=aid,
        sure=session.yes,
    )
    session.write(*entries)


@click.command()
@click.argument("words", nargs=-1, required=True, metavar="[CARE] ID...", type=PLANT)
@click.option("--felt", default="damp", metavar="damp", show_default=True, help="How the medium felt.")
@click.option("--again", type=int, metavar="DAYS", help="Look again after this many days. [d]")
@on_option()
@click.option("--task", metavar="ID", help="The task that it answers.")
@click.option("--aid", type=AID, help="The aid that was still damp.")
@writing
@pass_session
def leave(
    session: Session,
    words: tuple[str, ...],
    felt: str,
    again: int | None,
    on: date | None,
    task: str | None,
    aid: str | None,
) -> None:
    """Say that a plant was looked at and left.

    It comes again after a quarter of its days, or after those of --again. CARE is water where none is named.
    """
    care, ids = _in_order(words, "leave") if len(words) > 1 else ("watering", words)
    collection, now = session.open(), session.sound_now()
    session.write(
        *actions.leave(collection, now, care, ids, on=on, felt=felt, again_days=again, task=task, aid=aid)
    )


@click.command()
@click.argument("words", nargs=-1, required=True, metavar="[CARE] ID...", type=PLANT)
@on_option("Day on which it is said (else today).")
@writing
@pass_session
def missed(session: Session, words: tuple[str, ...], on: date | None) -> None:
    """Say that open or assumed care did not happen.

    Drying goes on from the last real wetting. CARE is watering where none is named, else moistening.
    """
    care, ids = _in_order(words, "missed") if len(words) > 1 else ("watering", words)
    session.write(*actions.missed(session.open(), session.sound_now(), care, ids, on=on))


@click.command()
@click.argument("ids", nargs=-1, metavar="[ID...]", type=PLANT)
@writing
@pass_session
def confirm(session: Session, ids: tuple[str, ...]) -> None:
    """Say that what was taken as watered was.

    A wetting that nobody ticked is assumed on its day, twice at most and never for a plant on watch; `today` asks about
    it. How much is assumed: carecal settings ticking. Without an ID all of them are confirmed; the way to say no is
    carecal missed ID.
    """
    session.write(*actions_assumed.confirm(session.open(), session.sound_now(), ids))


@click.command()
@click.argument("plant", metavar="ID", type=PLANT)
@click.argument("grams", metavar="G", type=GRAMS)
@click.option("--full", "mark", flag_value="full", help="Just wetted and drained.")
@click.option("--dry", "mark", flag_value="dry", help="As dry as it is ever left.")
@on_option()
@writing
@pass_session
def weigh(session: Session, plant: str, grams: float, mark: str | None, on: date | None) -> None:
    """Write down what a pot weighs.

    G is its weight with the plant. [g]
    """
    collection, now = session.open(), session.sound_now()
    session.write(*actions_looks.weigh(collection, now, plant, grams, on=on, mark=mark, sure=session.yes))


def _in_order(words: tuple[str, ...], verb: str) -> tuple[str, tuple[str, ...]]:
    """Return the care and the plants of a command; without a care `leave` and `missed` mean water.

    Raises:
        UsageError: The care stands behind a plant; says the command as it is meant.
    """
    words = tuple(word for at, word in enumerate(words) if (word, words[at - 1] if at else "") not in FILLING)
    cares = [word for word in words if actions.care_named(word) in actions.CARES]
    if cares and cares[0] != words[0] and len(set(map(actions.care_named, cares))) == 1:
        ids = " ".join(word for word in words if word not in cares)
        raise click.UsageError(f"the care comes first: carecal {verb} {cares[0]} {ids}")
    if not cares and verb != "done":
        return "watering", words
    return (words[0], words[1:]) if words else ("", ())


def _names_of_round(
    excepted: tuple[str, ...], damp: tuple[str, ...], words: tuple[str, ...]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return who is left out and who was left damp: several names may stand behind either option, as typed."""
    if not words:
        return excepted, damp
    typed = click.get_current_context().find_root().ensure_object(Session).typed
    found: dict[str, list[str]] = {"--except": [], "--damp": []}
    option = "--except" if excepted else "--damp"
    for word in typed:
        name, _, value = word.partition("=")
        if name in found:
            option = name
            found[option] += [value] if value else []
        elif word in words or word in excepted or word in damp:
            found[option].append(word)
    return tuple(dict.fromkeys(found["--except"])), tuple(dict.fromkeys(found["--damp"]))
