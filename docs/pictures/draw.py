"""The pictures of docs/looking.md, made from the demo: python docs/pictures/draw.py."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

from PIL import Image

import cropmove
from cropmove.previews.burnt import Marks
from cropmove.previews.movie import play
from cropmove.previews.source import Source
from cropmove.sheets.page import cropped_picture
from cropmove.sheets.sheet import Sheet
from cropmove.showing import motion, sheets

HERE = Path(__file__).parent
DEMO = HERE.parent.parent / "demo_frames"
POINTS = {"lamp of the lighthouse": (2390.0, 760.0), "flag of the buoy": (2560.0, 1480.0)}
PAPER = (297.0, 210.0)


def main() -> None:
    """Draw them all."""
    push_in, pan = (cropmove.load(DEMO / f"{name}.toml") for name in ("push_in", "pan"))
    sheets = dict(_drawing(push_in)._sheets(print))
    for kind in ("overview", "contact"):
        picture = cropped_picture(sheets[kind].png(dpi=105), quality=76)[1]
        (HERE / f"{kind}.jpg").write_bytes(picture)
    for kind in ("chart", "guide"):
        _few_colours(sheets[kind], kind)
    _few_colours(_drawing(pan)._chart(), "chart_pan")
    marks = Marks(number=True, safe=True, findings=True)
    reel = motion._reel(push_in, None, None, 320, marks)
    _smaller(play(reel, ".webp", 2), HERE / "preview.webp")
    reel = motion._reel(push_in, "fps=12", None, 480, Marks(number=True))
    movie = Image.open(BytesIO(play(reel, ".webp", 2)))
    movie.seek(18)
    movie.convert("RGB").save(HERE / "compare.jpg", quality=82)


def _drawing(shot: cropmove.Shot) -> sheets._Drawing:
    return sheets._Drawing(
        source=Source(shot=shot, course=shot.course()),
        findings=cropmove.check(shot),
        paper=PAPER,
        frames=None,
        points=POINTS,
        guide_width=240.0,
    )


def _smaller(moving: bytes, path: Path) -> None:
    """A moving picture packed tighter."""
    picture = Image.open(BytesIO(moving))
    frames = []
    for number in range(0, picture.n_frames, 2):  # on twos, as it was photographed
        picture.seek(number)
        frames.append(picture.convert("RGB"))
    first, *rest = frames
    first.save(
        path, "WEBP", save_all=True, append_images=rest, duration=83, loop=0, quality=40, method=6
    )


def _few_colours(sheet: Sheet, name: str) -> None:
    """A drawing as a small PNG."""
    _, cut = cropped_picture(sheet.png(dpi=110), quality=100)
    picture = Image.open(BytesIO(cut)).quantize(160, dither=Image.Dither.NONE)
    picture.save(HERE / f"{name}.png", optimize=True)


if __name__ == "__main__":
    main()
