"""Compressed calendars; oracle: the gzip module of the standard library, which reads what anybody reads."""

from __future__ import annotations

import gzip
import zlib
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from carecal.calendars import packing
from carecal.calendars.packing import Packer


def component(seed: int) -> bytes:
    """Return some lines that repeat each other here and there, up to 20 kB."""
    chance = Random(seed)  # noqa: S311 - a test's chance
    names = [
        f"Plant {chance.randrange(40)} (east sill): water, 0.{chance.randrange(9)} L\r\n"
        for _ in range(seed % 500)
    ]
    return f"BEGIN:VEVENT\r\nUID:{seed}\r\n{''.join(names)}END:VEVENT\r\n".encode()


@settings(max_examples=20, deadline=None)
@given(st.lists(st.integers(0, 2000), max_size=8), st.lists(st.integers(0, 2000), max_size=8))
def test_what_is_kept_changes_no_byte(first: list[int], second: list[int]) -> None:
    """Any calendar after any other is read by gzip, and is the same as if it were the first one."""
    packer = Packer()
    packer.pack(b"".join(map(component, first)))
    for seeds in (second, [*second, *first], [*first[:2], *second, *first[2:]]):
        body = b"".join(map(component, seeds))
        packed = packer.pack(body)
        assert gzip.decompress(packed) == body
        assert packed == Packer().pack(body)


def test_one_member_holds_all_of_it() -> None:
    """Programs that read the first member alone get the whole: none stands after it."""
    body = b"".join(component(seed) for seed in range(450, 490))
    reader = zlib.decompressobj(wbits=zlib.MAX_WBITS | 16)
    assert reader.decompress(Packer().pack(body)) == body
    assert reader.eof
    assert reader.unused_data == b""


def test_blocks_cost_few_bytes() -> None:
    """A block finds what the one before it said: the whole is hardly larger than if compressed at one go."""
    body = b"".join(component(seed) for seed in range(400, 480))
    assert len(Packer().pack(body)) < 1.1 * len(gzip.compress(body, packing.LEVEL))


def test_only_blocks_that_differ_are_compressed(monkeypatch: pytest.MonkeyPatch) -> None:
    """One component in the midst changes its own block and the one that is primed with it."""
    made: list[int] = []
    real = packing._packed

    def packed(block: bytes, before: bytes) -> bytes:
        made.append(len(block))
        return real(block, before)

    monkeypatch.setattr(packing, "_packed", packed)
    parts = [component(seed) for seed in range(450, 490)]
    packer = Packer()
    packer.pack(b"".join(parts))
    assert len(made) == len(parts)
    made.clear()
    parts[20] = component(1499)
    packer.pack(b"".join(parts))
    assert len(made) == 2
