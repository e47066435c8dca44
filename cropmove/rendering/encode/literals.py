"""Deflate by Huffman codes alone (RFC 1951, 3.2.7), compiled: for the grain of photographs.

Row differences of a photograph repeat next to nothing, so that searching for repeats costs most of
a deflate library's time and, spending codes on chance finds, makes files larger. Without the
search a frame is packed several times as fast, and in 8 bits a tenth smaller.

Bytes are packed in twos: a table gives the codes of any two bytes joined, and is so quickly made
that every block can have its own. What numpy does as fast is left to it, and zeros are put by
loops: all that numba is asked for is compiled on the first run.
"""

from __future__ import annotations

import sys
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cropmove.picture.compiling import loop

__all__ = ["packed_literals", "room"]

_BLOCK = 1 << 18
"""Bytes to a code of their own: so that sky and trees each get one."""
_STRETCH, _SAMPLE, _JUMP = 4096, 256, 1467
"""Of every so many bytes, so many are counted for a code, each time so much further on: the golden
section of the room there is. Frames grow by a tenth of a per cent and are packed in three quarters
of the time."""
_SYMBOLS = 257
"""The byte values, and the end of a block."""
_END = 256
_LONGEST = 13
"""Bits of a code. Deflate allows 15; two codes of 13 and the size of both fit 32 bits, and the
table of all twos stays half as large. Photographs grow by a fifth of a per cent."""
_SIZE_BITS, _SIZE = np.uint32(5), np.uint32(31)
"""A code's low bits, which are its size: how it is held until it goes out."""
_ZLIB_HEADER = 0x0178
"""RFC 1950, 2.2, low byte first: deflate with a window of 32 kB, packed fast."""
_CODE_LENGTH_ORDER = [16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15]
"""The order in which the lengths of code lengths stand (RFC 1951, 3.2.7)."""
_HEADER_SIZES = [17] + 19 * [3] + (_SYMBOLS + 1) * [4]
_HEADER_BITS = sum(_HEADER_SIZES)


def room(size: int) -> int:
    """Words of 64 bits that the stream of so many bytes can take at most."""
    blocks = size // _BLOCK + 1
    return (size * _LONGEST + blocks * (_HEADER_BITS + _LONGEST)) // 64 + 4


def packed_literals(
    content: NDArray[np.uint8], worth_bits: float, stream: NDArray[np.uint64]
) -> memoryview | None:
    """The bytes as one zlib stream (RFC 1950) without repeats.

    Parameters
    ----------
    content : (N,) array
    worth_bits
        Bits a byte, on average, below which there is more to be had from repeats.
    stream : (`room(N)` or more,) array
        Where to build the stream; what is returned is a view of it.

    Returns
    -------
    memoryview or None
        None where it would be smaller than `worth_bits` says: a plain picture, which a search for
        repeats suits better.

    Examples
    --------
    >>> import zlib
    >>> content = np.random.default_rng(1).integers(0, 50, 10_000).astype(np.uint8)
    >>> packed = packed_literals(content, 2, np.empty(room(10_000), np.uint64))
    >>> zlib.decompress(packed) == content.tobytes()
    True
    """
    from isal import isal_zlib

    if stream.size < room(content.size):
        raise ValueError(f"{content.size} bytes may take {room(content.size)} words")
    counts = _counts(content)
    lengths = np.zeros(counts.shape, np.uint8)
    _set_lengths(counts, counts.argsort(axis=1, kind="stable"), lengths)
    bits = (counts * lengths).sum() / counts.sum()
    if bits * content.size + counts.shape[0] * _HEADER_BITS < worth_bits * content.size:
        return None
    size = _emit(*_in_twos(content), _headers(lengths), lengths, stream)
    if sys.byteorder == "big":
        stream.byteswap(inplace=True)
    whole = stream.view(np.uint8).data[: size + 4]
    whole[size:] = isal_zlib.adler32(content.data).to_bytes(4)
    return whole


def _in_twos(content: NDArray[np.uint8]) -> tuple[NDArray[np.uint16], NDArray[np.uint8]]:
    """The bytes two by two, the first one low, and what is left over."""
    even = content.size - content.size % 2
    return np.require(content[:even].view("<u2"), np.uint16, "A"), content[even:]


def _counts(content: NDArray[np.uint8]) -> NDArray[np.int64]:
    """How often every block has each symbol, in a sample."""
    counts = np.zeros((max(1, -(-content.size // _BLOCK)), _SYMBOLS), np.int64)
    _count(content, content.view(np.int8), counts)
    counts[:, _END] = 1
    return counts


@loop
def _count(content: Any, signed: Any, counts: Any) -> None:
    # Differences lie about zero: all between the least and the greatest may be there, and get a
    # code. What turns up in pairs is counted in two tables, or each count would wait for the last.
    size, jump = np.uint64(content.size), np.uint64(0)
    own = np.empty((2, 256), np.uint32)
    for block in range(counts.shape[0]):
        start = np.uint64(block * _BLOCK)
        stop = min(start + np.uint64(_BLOCK), size)
        least = greatest = signed[start] if start < stop else np.int8(0)
        for value in signed[start:stop]:
            least, greatest = min(least, value), max(greatest, value)
        for value in range(256):
            inside = least <= np.int8(value) <= greatest
            own[0, value], own[1, value] = np.uint32(inside), np.uint32(0)
        for stretch in range(start, stop, np.uint64(_STRETCH)):
            # At a place of its own in each stretch, or rows might always show the same columns.
            jump = (jump + np.uint64(_JUMP)) % np.uint64(_STRETCH - _SAMPLE)
            begin = stretch + jump if stop - start > np.uint64(_STRETCH) else stretch
            end = min(begin + np.uint64(_SAMPLE), stop)
            for i in range(begin + np.uint64(1), end, np.uint64(2)):
                own[0, content[i - np.uint64(1)]] += np.uint32(1)
                own[1, content[i]] += np.uint32(1)
        for value in range(256):
            counts[block, value] = own[0, value] + own[1, value]


@loop
def _set_lengths(counts: Any, order: Any, lengths: Any) -> None:
    """Set the length of every used symbol's code, block by block.

    `order` has each block's symbols in rising order of their counts.
    """
    for block in range(counts.shape[0]):
        unused = 0
        while counts[block, order[block, unused]] == 0:
            unused += 1
        used = order[block, unused:]
        numbers = _numbers_by_length(_parents(counts[block], used), used.size)
        length = _LONGEST
        for symbol in used:  # the rarest have the longest codes
            while numbers[length] == 0:
                length -= 1
            numbers[length] -= 1
            lengths[block, symbol] = length


@loop
def _parents(counts: Any, used: Any) -> Any:
    """Huffman's tree (1952): which node joins each leaf, in rising order, and then each node."""
    count = used.size
    heights, parents = np.empty(2 * count, np.int64), np.empty(2 * count, np.int64)
    for i in range(count):
        heights[i] = counts[used[i]]
    leaf, node = 0, count
    for joined in range(count, 2 * count - 1):  # the nodes rise of themselves
        total = 0
        for _ in range(2):
            if leaf < count and (node >= joined or heights[leaf] <= heights[node]):
                taken = leaf
                leaf += 1
            else:
                taken = node
                node += 1
            parents[taken] = joined
            total += heights[taken]
        heights[joined] = total
    return parents


@loop
def _numbers_by_length(parents: Any, count: int) -> Any:
    """How many codes there are of each length, none longer than `_LONGEST`."""
    numbers = np.empty(_LONGEST + 1, np.int64)
    for length in range(_LONGEST + 1):
        numbers[length] = 0
    if count == 1:
        numbers[1] = 1  # a lone symbol too has a code
        return numbers
    depths = np.empty(2 * count, np.int64)
    depths[2 * count - 2] = 0
    for i in range(2 * count - 3, -1, -1):
        depths[i] = depths[parents[i]] + 1
        if i < count:
            numbers[min(depths[i], _LONGEST)] += 1
    # What was cut to fit takes more codes than there are: each turn gives one back, by hanging a
    # longest code beside the next shorter one.
    excess = -(1 << _LONGEST)
    for length in range(1, _LONGEST + 1):
        excess += numbers[length] << (_LONGEST - length)
    for _ in range(excess):
        shorter = _LONGEST - 1
        while numbers[shorter] == 0:
            shorter -= 1
        numbers[shorter] -= 1
        numbers[shorter + 1] += 2
        numbers[_LONGEST] -= 1
    return numbers


def _headers(lengths: NDArray[np.uint8]) -> NDArray[np.uint32]:
    """Each block's header, as codes: its lengths in four bits each."""
    parts = np.zeros((lengths.shape[0], len(_HEADER_SIZES)), np.uint32)
    parts[:, 0] = 2 << 1 | 15 << 13  # dynamic codes, one (unused) distance, all lengths' lengths
    parts[-1, 0] |= 1  # the last
    parts[:, 1:20] = [4 if symbol < 16 else 0 for symbol in _CODE_LENGTH_ORDER]
    turned = [int(f"{length:04b}"[::-1], 2) for length in range(16)]
    parts[:, 20:-1] = np.array(turned, np.uint32)[lengths]
    return parts << _SIZE_BITS | np.array(_HEADER_SIZES, np.uint32)


@loop
def _emit(twos: Any, odd: Any, headers: Any, lengths: Any, stream: Any) -> int:
    """Write the stream, all but its check; gives how many bytes that is."""
    codes, table = np.empty(_SYMBOLS, np.uint32), np.empty(1 << 16, np.uint32)
    rest = np.empty(5, np.uint32)
    waiting, held, place = np.uint64(_ZLIB_HEADER), np.uint64(16), np.uint64(0)
    for block in range(lengths.shape[0]):
        waiting, held, place = _put_each(headers[block], stream, waiting, held, place)
        _set_codes(lengths[block], codes)
        _join(codes, table)
        start = block * (_BLOCK // 2)
        some = twos[start : start + _BLOCK // 2]
        waiting, held, place = _put_eights(some, table, stream, waiting, held, place)
        count = some.size % 4
        for i in range(count):
            rest[i] = table[some[some.size - count + i]]
        if odd.size and block == lengths.shape[0] - 1:
            rest[count] = codes[odd[0]]
            count += 1
        rest[count] = codes[_END]
        waiting, held, place = _put_each(rest[: count + 1], stream, waiting, held, place)
    stream[place] = waiting
    return int(8 * np.int64(place) + (np.int64(held) + 7) // 8)


@loop
def _set_codes(lengths: Any, codes: Any) -> None:
    """The codes that go with the lengths (RFC 1951, 3.2.2), their bits turned, above their size."""
    following = np.empty(_LONGEST + 2, np.int64)
    for length in range(_LONGEST + 2):
        following[length] = 0
    for symbol in range(_SYMBOLS):
        if lengths[symbol]:
            following[lengths[symbol] + 1] += 1
    for length in range(1, _LONGEST + 2):
        following[length] = (following[length] + following[length - 1]) << 1
    for symbol in range(_SYMBOLS):
        length, turned = lengths[symbol], 0
        code = following[length]
        following[length] += 1
        for _ in range(length):
            turned = turned << 1 | code & 1
            code >>= 1
        codes[symbol] = turned << 5 | length


@loop
def _join(codes: Any, table: Any) -> None:
    """The codes of every two values, the second being the high byte."""
    for second in range(256):
        late, late_size = codes[second] >> _SIZE_BITS, codes[second] & _SIZE
        row = table[256 * second : 256 * second + 256]
        for first in range(256):
            early, size = codes[first] >> _SIZE_BITS, codes[first] & _SIZE
            row[first] = (early | late << size) << _SIZE_BITS | (size + late_size)


@loop
def _put(
    part: np.uint64, size: np.uint64, stream: Any, waiting: np.uint64, held: np.uint64,
    place: np.uint64,
) -> tuple[np.uint64, np.uint64, np.uint64]:  # fmt: skip
    """Append bits, at most 63.

    The word goes out each time, and counts only when it is full: whether it is full cannot be
    foretold, and a branch would cost more than the store.
    """
    waiting |= part << held
    stream[place] = waiting
    end = held + size
    full = end >> np.uint64(6)
    over = part >> np.uint64(1) >> (np.uint64(63) - held)
    waiting = over if full != np.uint64(0) else waiting
    return waiting, end & np.uint64(63), place + full


@loop
def _put_each(
    codes: Any, stream: Any, waiting: np.uint64, held: np.uint64, place: np.uint64
) -> tuple[np.uint64, np.uint64, np.uint64]:
    for code in codes:
        part, size = np.uint64(code >> _SIZE_BITS), np.uint64(code & _SIZE)
        waiting, held, place = _put(part, size, stream, waiting, held, place)
    return waiting, held, place


@loop
def _put_eights(
    twos: Any, table: Any, stream: Any, waiting: np.uint64, held: np.uint64, place: np.uint64
) -> tuple[np.uint64, np.uint64, np.uint64]:
    """Append the codes of a block, eight bytes at a time, but for the last six or less in twos."""
    whole = np.uint64(twos.size - twos.size % 4)
    for i in range(np.uint64(0), whole, np.uint64(4)):
        early, early_size = _joined(table, twos[i], twos[i + np.uint64(1)])
        late, late_size = _joined(table, twos[i + np.uint64(2)], twos[i + np.uint64(3)])
        if early_size + late_size < np.uint64(64):  # as of photographs nearly all do
            early |= late << early_size
            early_size += late_size
        else:
            waiting, held, place = _put(early, early_size, stream, waiting, held, place)
            early, early_size = late, late_size
        waiting, held, place = _put(early, early_size, stream, waiting, held, place)
    return waiting, held, place


@loop
def _joined(table: Any, first: np.uint16, second: np.uint16) -> tuple[np.uint64, np.uint64]:
    """The codes of four bytes, at most 52 bits, and how many bits they are."""
    early, late = table[first], table[second]
    size = np.uint64(early & _SIZE)
    part = np.uint64(early >> _SIZE_BITS) | np.uint64(late >> _SIZE_BITS) << size
    return part, size + np.uint64(late & _SIZE)
