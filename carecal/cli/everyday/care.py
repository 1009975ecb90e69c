"""`carecal done`, `leave`, `missed` and `weigh`: care carried out or not."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from carecal.app.lazy import LazyModule
from carecal.cli.context import pass_session, writing
from carecal.cli.everyday.shared import on_option
from carecal.cli.types import PLANT

if TYPE_CHECKING:
    from datetime import date

    from carecal.app.actions import care as actions
    from carecal.app.actions import looks as actions_looks
    from carecal.app.actions import whole_round as actions_round
    from carecal.cli.context import Session
else:  # each command needs one of them
    actions = LazyModule("carecal.app.actions.care")
    actions_looks = LazyModule("carecal.app.actions.looks")
    actions_round = LazyModule("carecal.app.actions.whole_round")

__all__ = ["done", "leave", "missed", "weigh"]

AID = click.Choice(["cloth", "moss-collar"])


@click.command()
@click.argument("words", nargs=-1, metavar="[CARE ID...]", type=PLANT)
@click.option("--round", "whole_round", is_flag=True, help="The whole round of the day as planned.")
@click.option("--except", "excepted", multiple=True, type=PLANT, metavar="ID", help="Left out of the round.")
@on_option()
@click.option("--felt", type=click.Choice(["parched", "right", "damp"]), help="How the medium felt before.")
@click.option("--weight", type=float, metavar="G", help="What the pot weighed before. [g]")
@click.option("--ec", type=float, metavar="MS", help="Conductivity of the drained water. [mS/cm]")
@click.option("--task", metavar="ID", help="The task that it answers.")
@click.option("--aid", type=AID, help="The aid that was moistened.")
@writing
@pass_session
def done(
    session: Session,
    words: tuple[str, ...],
    whole_round: bool,
    excepted: tuple[str, ...],
    on: date | None,
    felt: str | None,
    weight: float | None,
    ec: float | None,
    task: str | None,
    aid: str | None,
) -> None:
    """Say that a care was carried out.

    CARE is watering, refilling, feeding, flushing, moistening or inspection.

    \b
    carecal done watering tide gable --felt right
    carecal done --round --except pebble
    """  # noqa: D301 - click keeps the lines behind this sign as they are
    collection, now = session.open(), session.sound_now()
    if whole_round:
        if any(value is not None for value in (felt, weight, ec, task, aid)):
            raise click.UsageError("--round goes with --except and --on alone")
        if words and not excepted:
            raise click.UsageError(f"--round names no care; to leave {words[0]} out say --except {words[0]}")
        out = (*excepted, *words)
        actions_round.write_round(
            lambda: actions_round.done_round(collection, now, on=on, excepted=out), session.write
        )
        return
    if excepted:
        raise click.UsageError("--except goes with --round")
    if len(words) < 2:
        raise click.UsageError("say a care and at least one plant, as done watering tide, or done --round")
    entries = actions.done(
        collection,
        now,
        words[0],
        words[1:],
        on=on,
        felt=felt,
        weight_g=weight,
        ec_ms_cm=ec,
        task=task,
        aid=aid,
        sure=session.yes,
    )
    session.write(*entries)


@click.command()
@click.argument("care")
@click.argument("ids", nargs=-1, required=True, metavar="ID...", type=PLANT)
@click.option("--felt", default="damp", metavar="damp", show_default=True, help="How the medium felt.")
@click.option("--again", type=int, metavar="DAYS", help="Look again after this many days. [d]")
@on_option()
@click.option("--task", metavar="ID", help="The task that it answers.")
@click.option("--aid", type=AID, help="The aid that was still damp.")
@writing
@pass_session
def leave(
    session: Session,
    care: str,
    ids: tuple[str, ...],
    felt: str,
    again: int | None,
    on: date | None,
    task: str | None,
    aid: str | None,
) -> None:
    """Say that a plant was looked at and left.

    It comes again after a quarter of its days, or after those of --again.
    """
    collection, now = session.open(), session.sound_now()
    session.write(
        *actions.leave(collection, now, care, ids, on=on, felt=felt, again_days=again, task=task, aid=aid)
    )


@click.command()
@click.argument("care", type=click.Choice(["watering", "moistening"]))
@click.argument("ids", nargs=-1, required=True, metavar="ID...", type=PLANT)
@on_option("Day on which it is said (else today).")
@writing
@pass_session
def missed(session: Session, care: str, ids: tuple[str, ...], on: date | None) -> None:
    """Say that open or assumed care did not happen.

    Drying goes on from the last real wetting.
    """
    session.write(*actions.missed(session.open(), session.sound_now(), care, ids, on=on))


@click.command()
@click.argument("plant", metavar="ID", type=PLANT)
@click.argument("grams", metavar="G", type=float)
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
