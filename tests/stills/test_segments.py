"""JPEGs of kinds that are read and kinds that are not, told apart before a pixel is decoded."""

from __future__ import annotations

import io
from collections.abc import Callable
from itertools import product
from typing import Any

import imagecodecs
import numpy as np
import pytest
import simplejpeg
from numpy.typing import NDArray
from PIL import Image

from cropmove.errors import InputError
from cropmove.geometry import Size
from cropmove.stills.find import StillRef
from cropmove.stills.read import read_header, read_pixels, read_small
from cropmove.stills.segments import Frame, first_frame

Put = Callable[[str, bytes], StillRef]
Factors = tuple[tuple[int, int], ...]

SIDE = 64
PICTURE = np.random.default_rng(5).integers(0, 256, (SIDE, SIDE, 3)).astype(np.uint8)

PLAIN: Factors = ((1, 1), (1, 1), (1, 1))
READ: dict[str, Factors] = {
    "4:4:4": PLAIN,
    "4:2:2": ((2, 1), (1, 1), (1, 1)),
    "4:2:0": ((2, 2), (1, 1), (1, 1)),
    "4:4:0": ((1, 2), (1, 1), (1, 1)),
    "4:1:1": ((4, 1), (1, 1), (1, 1)),
    "4:4:1": ((1, 4), (1, 1), (1, 1)),
    "4:2:2 in larger numbers": ((2, 2), (1, 2), (1, 2)),
    "4:4:4 in larger numbers": ((2, 1), (2, 1), (2, 1)),
}
OTHERS: dict[str, Factors] = {
    "4:1:0": ((4, 2), (1, 1), (1, 1)),
    "thirds": ((3, 1), (1, 1), (1, 1)),
    "one colour more than the other": ((2, 1), (1, 1), (2, 1)),
}


def flat(factors: Factors) -> bytes:
    """A mid-grey JPEG with those sampling factors, legal by ITU-T T.81 (A.2.2, B.2.2, F.1.2).

    Pillow writes its tables, those of annex K.3. Every block there is all zeros: no difference to
    the block before, and the end of the block, which are 00 1010 in luma's codes and 00 00 in
    colour's (tables K.3 to K.6).
    """
    file = io.BytesIO()
    Image.new("RGB", (SIDE, SIDE), (128, 128, 128)).save(file, "JPEG", subsampling=0)
    made = bytearray(file.getvalue())
    frame, scan = made.index(b"\xff\xc0"), made.index(b"\xff\xda")
    for number, (across, down) in enumerate(factors):
        made[frame + 11 + 3 * number] = across << 4 | down
    most = [8 * max(side) for side in zip(*factors, strict=True)]
    units = int(np.prod([-(-SIDE // side) for side in most]))
    codes = ("001010", "0000", "0000")
    unit = "".join(
        code * across * down for code, (across, down) in zip(codes, factors, strict=True)
    )
    bits = unit * units
    bits += "1" * (-len(bits) % 8)
    data = int(bits, 2).to_bytes(len(bits) // 8)
    return bytes(made[: scan + 14]) + data.replace(b"\xff", b"\xff\0") + b"\xff\xd9"


def seen(content: bytes) -> Frame:
    frame = first_frame(lambda at, count: content[at : at + count])
    assert frame
    return frame


@pytest.mark.parametrize("factors", READ.values(), ids=READ)
def test_colours_thinned_out_as_usual_are_read(factors: Factors, put: Put) -> None:
    still = put("a.jpg", flat(factors))
    header = read_header(still)
    assert seen(flat(factors)).factors == factors
    for rows in (None, 8):
        assert (read_pixels(still, header, rows=rows) == 128).all()
    assert (read_small(still, header, Size(8, 8)) == 128).all()


@pytest.mark.parametrize("factors", OTHERS.values(), ids=OTHERS)
def test_colours_thinned_out_otherwise_are_no_damage(factors: Factors, put: Put) -> None:
    decoded = np.asarray(Image.open(io.BytesIO(flat(factors))))  # sound: another library reads it
    assert (decoded == 128).all()
    with pytest.raises(InputError, match=r"4:2:0(.|\n)*thinned out otherwise") as caught:
        read_header(put("a.jpg", flat(factors)))
    assert "damaged" not in str(caught.value)


def test_what_is_usual_is_what_the_decoder_takes() -> None:
    """All sampling factors (1 to 4 each way), against libjpeg-turbo's own judgement."""
    sides = list(product(range(1, 5), repeat=2))
    judged = []
    for luma, colour in product(sides, sides):
        factors = (luma, colour, colour)
        content = flat(PLAIN)
        made = bytearray(content)
        at = made.index(b"\xff\xc0")
        for number, (across, down) in enumerate(factors):
            made[at + 11 + 3 * number] = across << 4 | down
        judged.append(seen(bytes(made)).shares_colour_as_usual)
        assert judged[-1] == is_taken(bytes(made)), factors
    assert 6 < sum(judged) < 20


def is_taken(content: bytes) -> bool:
    try:
        simplejpeg.decode_jpeg_header(content)
    except KeyError:  # it takes 4:4:1, and has no name for it
        return True
    except ValueError:
        return False
    return True


def coded(pixels: NDArray[Any], **options: Any) -> bytes:
    return bytes(imagecodecs.jpeg8_encode(pixels, **options))


@pytest.mark.parametrize(("content", "told"), [
    (coded(PICTURE.astype(np.uint16) << 4, bitspersample=12), "8 bits a channel; this one has 12"),
    (coded(PICTURE[..., 0].astype(np.uint16) << 4, bitspersample=12), "this one has 12"),
    (coded(PICTURE, lossless=True), "this one is lossless"),
    (coded(PICTURE.astype(np.uint16) << 8, lossless=True, bitspersample=16), "one is lossless"),
], ids=["12 bits", "12 bits, grey", "lossless", "lossless of 16 bits"])  # fmt: skip
def test_sound_stills_of_other_kinds_are_no_damage(content: bytes, told: str, put: Put) -> None:
    with pytest.raises(InputError, match=told) as caught:
        read_header(put("a.jpg", content))
    assert "damaged" not in str(caught.value)


def test_markers_may_be_filled_up(put: Put) -> None:
    """Any number of bytes 0xFF may stand before a marker (ITU-T T.81, B.1.1.2)."""
    plain = coded(PICTURE)
    at = plain.index(b"\xff\xc0")
    filled = plain[:at] + b"\xff" * 7 + plain[at:]
    assert seen(filled).size == (SIDE, SIDE)
    whole = read_pixels(put("a.jpg", plain))
    still = put("b.jpg", filled)
    for rows in (SIDE, 8):
        read = read_pixels(still, rows=rows)
        assert np.array_equal(read, whole[: len(read)])


@pytest.mark.parametrize("length", [0, 4, 30, 170, 400])
def test_a_file_that_breaks_off_is_damaged(length: int, put: Put) -> None:
    with pytest.raises(InputError, match=r"damaged|empty"):
        read_header(put("a.jpg", coded(PICTURE)[:length]))
