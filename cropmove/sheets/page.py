"""All sheets on one page to send to somebody: HTML with its pictures inside, and no script."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from io import BytesIO

import numpy as np

from cropmove.checks.finding import Finding, frames_text
from cropmove.move.course import Course
from cropmove.rig.measures import MM_PER_INCH
from cropmove.sheets import style
from cropmove.sheets.sheet import POINT
from cropmove.shot import Shot
from cropmove.units import seconds_text, unbroken

__all__ = ["Figure", "cropped_drawing", "cropped_picture", "page"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A picture on the page.

    Parameters
    ----------
    title, told : str
        Its heading, and a sentence under it that says what is to be seen.
    kind : str
        Its media type.
    content : bytes
    """

    title: str
    told: str
    kind: str
    content: bytes

    def html(self) -> str:
        """The picture and its words."""
        data = b64encode(self.content).decode("ascii")
        return (
            f"<section><h2>{escape(self.title)}</h2><figure>"
            f'<div><img src="data:{self.kind};base64,{data}" alt="{escape(self.told)}"></div>'
            f"<figcaption>{escape(self.told)}</figcaption></figure></section>"
        )


def cropped_picture(png: bytes, quality: int = 86) -> tuple[str, bytes]:
    """A sheet without its head and margins, as a photograph: its media type and bytes."""
    from PIL import Image

    sheet = Image.open(BytesIO(png)).convert("RGB")
    dots = sheet.info["dpi"][0] / MM_PER_INCH
    box = tuple(round(side * dots) for side in _inked(png))
    file = BytesIO()
    sheet.crop(box).save(file, "JPEG", quality=quality, subsampling=0)
    return "image/jpeg", file.getvalue()


def cropped_drawing(svg: bytes, png: bytes) -> tuple[str, bytes]:
    """A drawn sheet without its head and margins: its media type and bytes.

    The same sheet as a picture tells where it is drawn on.
    """
    left, top, right, bottom = _inked(png)
    width, height = right - left, bottom - top
    box = " ".join(f"{side / POINT:.3f}" for side in (left, top, width, height))
    head = f'width="{width:.2f}mm" height="{height:.2f}mm" viewBox="{box}"'
    text = re.sub(r'width="[^"]+" height="[^"]+" viewBox="[^"]+"', head, svg.decode(), count=1)
    return "image/svg+xml", text.encode()


def _inked(png: bytes) -> style.Box:
    """Where a sheet is drawn on, under its head, in millimetres and with a little room around."""
    from PIL import Image

    sheet = Image.open(BytesIO(png))
    dots = sheet.info["dpi"][0] / MM_PER_INCH
    top = round((style.HEAD - 3.0) * dots)
    inked = np.asarray(sheet.convert("L"))[top:] < 250
    rows, columns = np.flatnonzero(inked.any(axis=1)), np.flatnonzero(inked.any(axis=0))
    if not len(rows):
        return 0.0, style.HEAD, sheet.width / dots, sheet.height / dots
    return (
        max(0.0, columns[0] / dots - 0.8),
        (top + rows[0]) / dots - 0.8,
        min(sheet.width / dots, columns[-1] / dots + 0.9),
        min(sheet.height / dots, (top + rows[-1]) / dots + 0.9),
    )


def page(
    shot: Shot,
    course: Course,
    findings: Sequence[Finding],
    figures: Sequence[Figure],
    files: Sequence[str],
) -> str:
    """The page.

    Parameters
    ----------
    shot, course : Shot, Course
    findings : sequence of Finding
    figures : sequence of Figure
    files : sequence of str
        The names of the files that lie beside the page.
    """
    body = [
        f"<header><h1>{escape(shot.name)}</h1><p>{escape(unbroken(style.shot_line(shot)))}</p></header>",
        _findings(findings),
        *(figure.html() for figure in figures),
        _keys(shot, course),
        _files(files),
    ]
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(shot.name)}</title><style>{_CSS}</style></head>\n<body>\n"
        + "\n".join(body)
        + "\n</body></html>\n"
    )


def _findings(findings: Sequence[Finding]) -> str:
    if not findings:
        return "<section><h2>Checks</h2><p>Nothing to mend.</p></section>"
    items = []
    for finding in findings:
        where = f" · {frames_text(finding.frames)}" if finding.frames else ""
        items.append(
            f'<li class="{finding.level}"><p><b>{finding.level}</b> {escape(finding.id)}'
            f"{escape(where)}</p><p>{escape(unbroken(finding.what))}.</p>"
            f'<p class="remedy">{escape(unbroken(finding.remedy))}.</p></li>'
        )
    return f"<section><h2>Checks</h2><ul>{''.join(items)}</ul></section>"


def _keys(shot: Shot, course: Course) -> str:
    rows = []
    for key in shot.keys:
        framing = key.framing
        cells = (
            f"{key.frame}", seconds_text(key.frame - 1, shot.fps),
            f"{framing.x:.1f}", f"{framing.y:.1f}", f"{framing.width:.1f}",
            f"{framing.roll:g}°", f"{framing.scale(course.delivery):.3f}",
            "stop" if key.stop else "passed",
        )  # fmt: skip
        rows.append("<tr>" + "".join(f"<td>{cell}</td>" for cell in cells) + "</tr>")
    heads = ("frame", "time", "centre x", "centre y", "width", "roll", "scale", "")
    head = "".join(f"<th>{name}</th>" for name in heads)
    return (
        "<section><h2>Keys</h2><div><table><thead><tr>" + head + "</tr></thead><tbody>"
        + "".join(rows) + "</tbody></table></div>"
        "<p>Pixels of the still, from its top-left corner.</p>"
        "</section>"
    )  # fmt: skip


def _files(files: Sequence[str]) -> str:
    items = "".join(f"<li>{escape(name)}</li>" for name in files)
    return f'<footer><h2>To print, beside this page</h2><ul class="files">{items}</ul></footer>'


_CSS = """
:root{color-scheme:light}
body{margin:0 auto;max-width:68rem;padding:3.5rem 2rem 4rem;background:#fff;color:#17242c;
overflow-wrap:anywhere;font:15px/1.55 system-ui,"Segoe UI",Roboto,"Helvetica Neue",Arial,sans-serif}
h1{font-size:2rem;line-height:1.1;margin:0 0 .4rem;letter-spacing:-.01em}
h2{font-size:1.05rem;margin:0 0 .8rem}
header p,figcaption,footer,.remedy,section>p{color:#5a6870}
section,footer{margin:3rem 0 0;break-inside:avoid}
figure{margin:0}
img{display:block;width:100%;height:auto}
figcaption{margin:.7rem 0 0;max-width:44rem}
ul{list-style:none;margin:0;padding:0}
li{padding:.1rem 0 .1rem 1rem;border-left:3px solid #c3cbcf;margin:0 0 1.1rem;max-width:48rem}
li p{margin:0}
li.caution{border-left-color:#17242c}
li.fault{border-left:6px double #b3461b}
li.fault b{color:#b3461b}
.files{columns:14rem}
.files li{border:0;padding:0;margin:0;font-size:.9rem}
table{border-collapse:collapse;font-variant-numeric:tabular-nums}
th,td{padding:.3rem 1.4rem .3rem 0;text-align:right}
th{font-weight:400;color:#5a6870;border-bottom:1px solid #c3cbcf}
.remedy::before{content:"→ "}
div{overflow-x:auto}
@media screen and (max-width:56rem){
body{padding:2rem 1.2rem 3rem}
th,td{padding-right:.9rem;white-space:nowrap}
}
@media screen and (max-width:44rem){
figure img{width:52rem;max-width:none}
figcaption::before{content:"Slide it sideways to see all of it. "}
}
@media screen and (max-width:34rem){
div+p::before{content:"Slide it sideways to see all of it. "}
}
@media print{body{max-width:none;padding:0;font-size:10pt}}
"""
