"""Bytes compressed as one gzip member that is put together from blocks; what did not change is not compressed again.

Each block is primed with the bytes before it, as programs do that compress on several cores, so that the whole is
hardly larger than if it were compressed at one go. Sources: RFC 1951 section 3.2, RFC 1952 section 2.3.
"""

from __future__ import annotations

from collections.abc import Iterator
from hashlib import sha256
from zlib import DEFLATED, MAX_WBITS, Z_SYNC_FLUSH, compressobj, crc32

__all__ = ["Packer"]

LEVEL = 6
"""Source: our choice, because more takes twice the time for a fiftieth of the size."""
BLOCK = 8192
"""A block ends with the component that makes it as long. [bytes] Source: our choice, because shorter blocks compress
worse, and a care day of a large collection is about as long."""
WINDOW = 32768
"""So far back a repetition is found. [bytes] Source: RFC 1951 section 2."""
MEMORY = 9
_HEAD = b"\x1f\x8b\x08\x00\x00\x00\x00\x00\x00\xff"  # no name, no time: the same bytes give the same bytes
_LAST = b"\x03\x00"  # a last block that holds nothing
_COMPONENT = b"BEGIN:V"


class Packer:
    """Compresses the bytes of a calendar; blocks are kept from one time to the next, which changes no byte."""

    def __init__(self) -> None:
        self._kept: dict[tuple[bytes, bytes], bytes] = {}

    def pack(self, body: bytes) -> bytes:
        """Return bytes compressed; each block follows from its own bytes and those of the block before it."""
        former, before, known = self._kept, b"", b""
        self._kept = {}
        packed = [_HEAD]
        for block in _blocks(body):
            name = sha256(block).digest()
            made = former.get((known, name))
            self._kept[known, name] = made = made if made is not None else _packed(block, before)
            packed.append(made)
            before, known = block, name
        length = (len(body) & 0xFFFFFFFF).to_bytes(4, "little")
        return b"".join([*packed, _LAST, crc32(body).to_bytes(4, "little"), length])


def _blocks(body: bytes) -> Iterator[bytes]:
    """Yield bytes in blocks that begin with components, so that what comes in between moves no later one."""
    begin = 0
    while begin < len(body):
        end = body.find(_COMPONENT, begin + BLOCK)
        end = len(body) if end < 0 else end
        yield body[begin:end]
        begin = end


def _packed(block: bytes, before: bytes) -> bytes:
    """Return a block compressed, to stand after the bytes before it."""
    dictionary = before[-WINDOW:]
    if dictionary:
        work = compressobj(LEVEL, DEFLATED, -MAX_WBITS, MEMORY, zdict=dictionary)
    else:
        work = compressobj(LEVEL, DEFLATED, -MAX_WBITS, MEMORY)
    return work.compress(block) + work.flush(Z_SYNC_FLUSH)
