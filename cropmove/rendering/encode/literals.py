"""Deflate by Huffman codes alone (RFC 1951, 3.2.7), compiled: for the grain of photographs.

Row differences of a photograph repeat next to nothing, so that searching for repeats costs most of
a deflate library's time and, spending codes on chance finds, makes files larger. Without the
search a frame is packed about twice as fast, and in 8 bits a tenth smaller.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

__all__ = ["packed_literals"]

_BLOCK = 1 << 18
"""Bytes to a code of their own: so that sky and trees each get one."""
_SYMBOLS = 257
"""The byte values, and the end of a block."""
_END = 256
_LONGEST = 15
_ZLIB_HEADER = 0x0178
"""RFC 1950, 2.2, low byte first: deflate with a window of 32 kB, packed fast."""


def packed_literals(content: NDArray[np.uint8], worth_bits: float) -> bytes | None:
    """The bytes as one zlib stream (RFC 1950) without repeats.

    Parameters
    ----------
    content : (N,) array
    worth_bits
        Bits a byte, on average, below which there is more to be had from repeats.

    Returns
    -------
    bytes, or None
        None where the stream would be smaller than `worth_bits` says: a plain picture, which a
        search for repeats suits better.

    Examples
    --------
    >>> import zlib
    >>> content = np.random.default_rng(1).integers(0, 50, 10_000).astype(np.uint8)
    >>> zlib.decompress(packed_literals(content, 2)) == content.tobytes()
    True
    """
    from isal import isal_zlib

    starts = np.arange(0, max(content.size, 1), _BLOCK)
    lengths, bits = _plan(content, starts)
    if bits < worth_bits * content.size:
        return None
    stream = np.empty(bits // 32 + 3, np.uint32)
    count = _emit(content, starts, lengths, stream)
    checked = isal_zlib.adler32(content.data).to_bytes(4)
    return stream.astype("<u4", copy=False).view(np.uint8)[:count].tobytes() + checked


@njit(nogil=True, cache=True)
def _plan(content: Any, starts: Any) -> tuple[Any, int]:
    """The code lengths of every block, and how many bits the whole stream takes."""
    lengths = np.zeros((starts.size, _SYMBOLS), np.uint8)
    bits = 16 + 64
    for i in range(starts.size):
        counts = _counted(content[starts[i] : starts[i] + _BLOCK])
        _set_lengths(counts, lengths[i])
        bits += _HEADER_BITS
        for symbol in range(_SYMBOLS):
            bits += counts[symbol] * lengths[i, symbol]
    return lengths, bits


@njit(nogil=True, cache=True)
def _counted(block: Any) -> Any:
    # Four counters take turns: one would wait for its own last store where values repeat.
    counts = np.zeros((4, _SYMBOLS), np.int64)
    whole = block.size - block.size % 4
    for i in range(0, whole, 4):
        counts[0, block[i]] += 1
        counts[1, block[i + 1]] += 1
        counts[2, block[i + 2]] += 1
        counts[3, block[i + 3]] += 1
    for i in range(whole, block.size):
        counts[0, block[i]] += 1
    counts[0, _END] = 1
    return counts.sum(axis=0)


@njit(nogil=True, cache=True)
def _set_lengths(counts: Any, lengths: Any) -> None:
    """Huffman's code, its lengths at most 15: where one is longer, counts are evened out."""
    weights = counts.copy()
    while _huffman(weights, lengths) > _LONGEST:
        for symbol in range(_SYMBOLS):
            if weights[symbol]:
                weights[symbol] = weights[symbol] // 2 + 1


@njit(nogil=True, cache=True)
def _huffman(weights: Any, lengths: Any) -> int:
    """Set the length of every used symbol's code; gives the longest (Huffman 1952)."""
    order = np.argsort(weights, kind="mergesort")
    order = order[np.searchsorted(weights[order], 1) :]
    count = order.size
    # Leaves in rising order, then the nodes that join them, which rise of themselves.
    heights = np.empty(2 * count, np.int64)
    heights[:count] = weights[order]
    parents = np.zeros(2 * count, np.int64)
    leaf, node = 0, count
    for joined in range(count, 2 * count - 1):
        total = 0
        for _ in range(2):
            takes_leaf = leaf < count and (node >= joined or heights[leaf] <= heights[node])
            taken = leaf if takes_leaf else node
            leaf, node = (leaf + 1, node) if takes_leaf else (leaf, node + 1)
            parents[taken] = joined
            total += heights[taken]
        heights[joined] = total
    depths = np.zeros(2 * count, np.int64)
    for i in range(2 * count - 3, -1, -1):
        depths[i] = depths[parents[i]] + 1
    lengths[:] = 0
    for i in range(count):
        lengths[order[i]] = max(min(depths[i], 255), 1)  # a lone symbol too has a code
    return int(depths[:count].max())


@njit(nogil=True, cache=True)
def _codes(lengths: Any) -> Any:
    """The codes that go with the lengths (RFC 1951, 3.2.2), their bits reversed for packing."""
    codes = np.zeros(_SYMBOLS, np.uint64)
    code = 0
    for length in range(1, _LONGEST + 1):
        for symbol in range(_SYMBOLS):
            if lengths[symbol] == length:
                turned = 0
                for bit in range(length):
                    turned |= ((code >> bit) & 1) << (length - 1 - bit)
                codes[symbol] = turned
                code += 1
        code <<= 1
    return codes


_HEADER_BITS = 3 + 5 + 5 + 4 + 19 * 3 + (_SYMBOLS + 1) * 4
_CODE_LENGTH_ORDER = np.array(
    [16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15], np.int64
)
"""The order in which the lengths of code lengths stand (RFC 1951, 3.2.7)."""


@njit(nogil=True, cache=True)
def _emit(content: Any, starts: Any, lengths: Any, stream: Any) -> int:
    """Write the stream; gives how many bytes it has. Its last four, the check, are not written."""
    waiting, held, at = np.uint64(_ZLIB_HEADER), np.uint64(16), 0
    for i in range(starts.size):
        is_last = 1 if i == starts.size - 1 else 0
        waiting, held, at = _put_header(lengths[i], is_last, stream, waiting, held, at)
        block = content[starts[i] : starts[i] + _BLOCK]
        codes, sizes = _codes(lengths[i]), lengths[i].astype(np.uint64)
        waiting, held, at = _put_block(block, codes, sizes, stream, waiting, held, at)
        waiting, held, at = _put(codes[_END], sizes[_END], stream, waiting, held, at)
    stream[at] = np.uint32(waiting & np.uint64(0xFFFFFFFF))
    return 4 * at + (int(held) + 7) // 8


@njit(nogil=True, cache=True, inline="always")
def _put(
    value: np.uint64, size: np.uint64, stream: Any, waiting: np.uint64, held: np.uint64, at: int
) -> tuple[np.uint64, np.uint64, int]:
    """Append bits, at most 32; full words of 32 go out."""
    waiting |= value << held
    held += size
    if held >= np.uint64(32):
        stream[at] = np.uint32(waiting & np.uint64(0xFFFFFFFF))
        waiting >>= np.uint64(32)
        held -= np.uint64(32)
        at += 1
    return waiting, held, at


@njit(nogil=True, cache=True)
def _put_header(
    lengths: Any, is_last: int, stream: Any, waiting: np.uint64, held: np.uint64, at: int
) -> tuple[np.uint64, np.uint64, int]:
    """A dynamic block's header: lengths 0 to 15 in four bits each, and one unused distance."""
    four = np.uint64(4)
    start = is_last | (2 << 1) | (0 << 3) | (0 << 8) | (15 << 13)
    waiting, held, at = _put(np.uint64(start), np.uint64(17), stream, waiting, held, at)
    for symbol in _CODE_LENGTH_ORDER:
        size = np.uint64(4 if symbol < 16 else 0)
        waiting, held, at = _put(size, np.uint64(3), stream, waiting, held, at)
    for i in range(_SYMBOLS + 1):
        length = int(lengths[i]) if i < _SYMBOLS else 0
        turned = (length & 1) << 3 | (length & 2) << 1 | (length & 4) >> 1 | (length & 8) >> 3
        waiting, held, at = _put(np.uint64(turned), four, stream, waiting, held, at)
    return waiting, held, at


@njit(nogil=True, cache=True)
def _put_block(
    block: Any, codes: Any, sizes: Any, stream: Any, waiting: np.uint64, held: np.uint64, at: int
) -> tuple[np.uint64, np.uint64, int]:
    """Append the codes of a block, two at a time.

    The word goes out each time, and counts only when it is full: whether it is full cannot be
    foretold, and a branch would cost more than the store.
    """
    word, last, mask = np.uint64(32), np.uint64(31), np.uint64(0xFFFF)
    sixteen, five, low = np.uint64(16), np.uint64(5), np.uint64(0xFFFFFFFF)
    both = codes | sizes << sixteen
    place = np.uint64(at)  # unsigned: an index that might be negative is checked each time
    pairs = block.size // 2
    firsts, seconds = block[0 : 2 * pairs : 2], block[1 : 2 * pairs : 2]
    for i in range(pairs):
        one, two = both[firsts[i]], both[seconds[i]]
        size = one >> sixteen
        waiting |= (one & mask | (two & mask) << size) << held
        held += size + (two >> sixteen)
        stream[place] = np.uint32(waiting & low)
        place += held >> five
        waiting >>= held & word
        held &= last
    at = np.int64(place)  # type: ignore[assignment]  # numba: unsigned and signed must not mix
    if block.size % 2:
        rest = block[block.size - 1]
        waiting, held, at = _put(codes[rest], sizes[rest], stream, waiting, held, at)
    return waiting, held, at
