"""What the things are made of: paint on card, wood, felt, cotton, paper, brass, and lit glass.

A finish is (red, green, blue, gloss, tooth, glow red, glow green, glow blue): reflectance and glow
in linear light, gloss from 0 (felt) to 1 (wet), tooth the roughness that tilts the light a little.
"""

from math import atan2, exp, hypot, pi, sin

from noise import Table, blend, compiled, dice, noise, rise, rough
from shapes import (
    BARREL,
    BOAT,
    BRASS,
    BUOY,
    COTTON,
    CRATE,
    DECK,
    DOOR,
    FELT,
    FLAG,
    FRAME,
    HEAD,
    HILL,
    HOUSE,
    HULL,
    LIGHTHOUSE,
    LIT_GLASS,
    MOON,
    PAINT,
    PANE,
    PAPER,
    PEG,
    QUAY,
    ROOF,
    ROPE,
    ROWING_BOAT,
    SECOND_PAINT,
    SEED,
    SIZES,
    SNOUT,
    STONE,
    THREAD,
    WHITE_PAINT,
    WOOD,
    hill_line,
    openings,
    skipper_place,
    window_at,
)  # fmt: skip

COLOUR, SECOND_COLOUR = 22, 25  # columns of a thing's row (see `scene`)
Finish = tuple[float, float, float, float, float, float, float, float]


@compiled
def plain(r: float, g: float, b: float, gloss: float, tooth: float, tone: float) -> Finish:
    """A finish that does not glow; `tone` brightens or darkens its colour."""
    return r * tone, g * tone, b * tone, gloss, tooth, 0.0, 0.0, 0.0


@compiled
def brushed(x: float, y: float, z: float) -> float:
    """The unevenness of poster paint put on with a flat brush: about 1."""
    streak = noise(1.3 * x, 14.0 * y, 14.0 * z)
    return 1.0 + 0.10 * rough(1.7 * x, 1.7 * y, 1.7 * z) + 0.07 * streak


@compiled
def wood(
    r: float, g: float, b: float, along: float, across: float, deep: float, board: float
) -> Finish:
    """Grain along a board; each board has its own tone."""
    warp = 0.5 * noise(0.25 * along, 1.1 * across, 1.1 * deep + board)
    rings = sin(9.0 * (across + 0.6 * deep + warp) + 11.0 * board)
    fibre = noise(0.9 * along, 16.0 * across, 16.0 * deep + board)
    tone = (0.82 + 0.36 * dice(int(7.0 * board), 1, 2)) * (1.0 + 0.14 * rings + 0.16 * fibre)
    return r * tone, g * tone * (0.97 + 0.03 * rings), b * tone * 0.95, 0.16, 0.06, 0.0, 0.0, 0.0


@compiled
def lit_paper(x: float, y: float, seed: float) -> Finish:
    """Paper lit from behind; brighter low down where the bulb stands, some panes left dark."""
    mood = dice(int(seed), 21, 4)
    if mood < 0.16:
        return 0.06, 0.075, 0.09, 0.5, 0.0, 0.02, 0.025, 0.035
    pulp = 1.0 + 0.14 * noise(7.0 * x, 7.0 * y, seed)
    level = (1.0 + 1.0 * mood) * pulp * exp(-0.55 * (x * x + (y + 0.25) ** 2))
    curtain = 0.5 if mood > 0.62 and abs(x) > 0.26 + 0.03 * sin(9.0 * y) else 1.0
    return (
        0.3, 0.2, 0.1, 0.0, 0.0,
        level * 1.5, level * curtain * (0.54 + 0.2 * mood), level * curtain * 0.13,
    )  # fmt: skip


@compiled
def roof_finish(
    x: float, y: float, z: float, nx: float, nz: float, things: Table, i: int
) -> Finish:
    """Painted corrugated card, worn to brown on the crests; raw where it was cut."""
    gable = things[i, SIZES + 6] > 0.5
    along = z if gable else x
    r, g, b = (things[i, SECOND_COLOUR], things[i, SECOND_COLOUR + 1], things[i, SECOND_COLOUR + 2])
    phase = sin(2.0 * pi * along / 0.46)
    if abs(nz if gable else nx) > 0.8:
        wave = sin(2.0 * pi * (x if gable else z) / 0.3)
        hole = 0.45 if abs(noise(9.0 * x, 9.0 * y, 9.0 * z)) * wave > 0.05 else 1.0
        return plain(0.36, 0.23, 0.12, 0.05, 0.1, hole)
    worn = rise(0.1, 0.8, -phase * 0.8 + 0.75 * rough(1.1 * x, 1.1 * y, 1.1 * z) - 0.15)
    tone = brushed(along, y, y)
    return plain(
        blend(r, 0.38, 0.6 * worn), blend(g, 0.25, 0.6 * worn), blend(b, 0.13, 0.6 * worn),
        0.1, 0.08, tone,
    )  # fmt: skip


@compiled
def house_finish(
    part: int, x: float, y: float, z: float, nx: float, nz: float, things: Table, i: int
) -> Finish:
    """Lit panes, worn roofs, cream frames, and painted card with grubby feet and rubbed corners."""
    w, h = things[i, SIZES], things[i, SIZES + 1]
    columns, rows, ground = things[i, SIZES + 4], things[i, SIZES + 5], things[i, SIZES + 7]
    if part == PANE:
        wx, wy, _, _ = openings(x, y, w, h, columns, rows, ground)
        column, level = (x + 0.45 * w) // (0.9 * w / columns), (y - ground) * rows // (h - ground)
        name = 37.0 * things[i, SEED] + 5.0 * column + 17.0 * level
        return lit_paper(wx, wy if abs(wy) < 1.3 else 0.0, name)
    if part == ROOF:
        return roof_finish(x, y, z, nx, nz, things, i)
    if part == WOOD:
        return wood(0.4, 0.26, 0.15, x, y, z, 1.0)
    if part == DOOR:
        return plain(0.07, 0.15, 0.15, 0.25, 0.04, brushed(y, x, z))
    if part == SECOND_PAINT:
        return plain(0.32, 0.13, 0.085, 0.05, 0.15, brushed(y, x, z))
    if part == FRAME:
        return plain(0.62, 0.57, 0.47, 0.1, 0.05, brushed(y, x, z))
    r, g, b = things[i, COLOUR], things[i, COLOUR + 1], things[i, COLOUR + 2]
    tone = brushed(y, x, z) * blend(0.62, 1.0, rise(-0.2, 1.7, y + 0.5 * noise(x, y, z)))
    worn = rise(0.16, 0.02, abs(abs(x) - 0.5 * w) + 0.12 * rough(2.0 * x, 2.0 * y, 2.0 * z))
    return plain(
        blend(r, 0.42, 0.7 * worn), blend(g, 0.29, 0.7 * worn), blend(b, 0.17, 0.7 * worn),
        0.07, 0.07, tone,
    )  # fmt: skip


@compiled
def hill_finish(x: float, y: float, z: float, things: Table, i: int) -> Finish:
    """Felt with a running stitch a finger's breadth below its edge."""
    s = things[i, SEED]
    fibre = noise(3.0 * x, 11.0 * y, s) + noise(13.0 * x, 4.0 * y, s + 9.0)
    tone = 1.0 + 0.10 * fibre + 0.16 * rough(0.35 * x, 0.35 * y, s)
    depth = hill_line(x, things[i, SIZES], s) - y
    r, g, b = things[i, COLOUR], things[i, COLOUR + 1], things[i, COLOUR + 2]
    for row in range(2):
        run = (x / 1.15 + 0.3 * row) % 1.0
        seam = abs(depth - 1.0 - 3.1 * row - 0.05 * sin(2.7 * x))
        if run < 0.62 and seam < 0.1:
            return plain(
                things[i, SECOND_COLOUR], things[i, SECOND_COLOUR + 1],
                things[i, SECOND_COLOUR + 2], 0.1, 0.1, 1.0 - 4.0 * seam,
            )  # fmt: skip
        tone *= 1.0 - 0.25 * exp(-90.0 * seam * seam)
    return plain(r, g, b, 0.0, 0.25, tone)


@compiled
def hull_finish(x: float, y: float, z: float, r: float, g: float, b: float) -> Finish:
    """Red below, a cream line, colour above; scuffed to the wood along the strake."""
    tone = brushed(x, y, z)
    scuff = rise(0.35, 0.6, rough(1.5 * x, 4.0 * y, 1.5 * z))
    if y < 0.62 + 0.02 * noise(3.0 * x, 0.0, z):
        return plain(0.42, 0.055, 0.035, 0.35, 0.03, tone)
    if y < 0.85:
        return plain(0.75, 0.66, 0.5, 0.35, 0.03, tone)
    return plain(
        blend(r, 0.45, 0.5 * scuff), blend(g, 0.3, 0.5 * scuff), blend(b, 0.17, 0.5 * scuff),
        0.4, 0.03, tone,
    )  # fmt: skip


@compiled
def head_finish(x: float, y: float, z: float, scale: float) -> Finish:
    """Bare wood with two dots for eyes and a blush of pink."""
    x, y, z = x / scale, y / scale - 2.6, z / scale
    eye = hypot(x - 0.42, y - 0.02) + 0.3 * abs(abs(z) - 0.4)
    if eye < 0.1:
        return plain(0.02, 0.018, 0.015, 0.5, 0.0, 1.0)
    blush = exp(-14.0 * ((x - 0.3) ** 2 + (y + 0.16) ** 2))
    tone = 1.0 + 0.06 * noise(2.0 * x, 18.0 * y, 18.0 * z)
    return plain(0.66, 0.43 - 0.16 * blush, 0.27 - 0.08 * blush, 0.15, 0.03, tone)


@compiled
def doll_finish(
    part: int, x: float, y: float, z: float, s: float, r: float, g: float, b: float
) -> Finish:
    """Wooden head, knitted scarf, yellow hat, painted coat."""
    if part == HEAD:
        return head_finish(x, y, z, s)
    if part == SNOUT:
        return plain(0.66, 0.36, 0.24, 0.15, 0.03, 1.0)
    if part == FLAG:
        return plain(0.86, 0.52, 0.06, 0.3, 0.03, brushed(x, y, z))
    if part == SECOND_PAINT:
        return plain(0.6, 0.1, 0.07, 0.0, 0.25, 1.0 + 0.3 * sin(14.0 * atan2(z, x)))
    return plain(r, g, b, 0.25, 0.04, brushed(y, x, z))


@compiled
def boat_finish(part: int, x: float, y: float, z: float) -> Finish:
    """The ferry, part by part."""
    if part >= 100:
        sx, sz = skipper_place(x, z)
        return doll_finish(part - 100, sx, y - 1.35, sz, 0.92, 0.05, 0.13, 0.26)
    if part == HULL:
        return hull_finish(x, y, z, 0.045, 0.21, 0.23)
    if part == DECK:
        board = z // 0.42
        seam = abs((z / 0.42) % 1.0 - 0.5)
        r, g, b, gloss, tooth, _, _, _ = wood(0.5, 0.31, 0.16, x, z, 0.0, board)
        return plain(r, g, b, gloss, tooth, 1.0 - 0.6 * rise(0.44, 0.5, seam))
    if part == PANE:
        return lit_paper(0.6 * window_at(x + 0.2, 3.3, 3.0), y - 3.4, 3.0)
    if part == WHITE_PAINT:
        return plain(0.72, 0.62, 0.47, 0.25, 0.04, brushed(y, x, z))
    if part == ROOF:
        return plain(0.46, 0.085, 0.045, 0.3, 0.05, brushed(x, y, z))
    if part == SECOND_PAINT:
        if abs(y - 6.05) < 0.26:
            return plain(0.8, 0.66, 0.42, 0.3, 0.03, 1.0)
        return plain(0.62, 0.17, 0.04, 0.3, 0.03, brushed(x, y, z))
    if part == FLAG:
        s = ((x - 2.55) * 4.0 - (y - 9.3) * 5.9) / 7.128
        pick = int((s - 0.2) // 1.1) % 3
        if pick == 0:
            return plain(0.75, 0.12, 0.08, 0.05, 0.05, 1.0)
        if pick == 1:
            return plain(0.85, 0.66, 0.2, 0.05, 0.05, 1.0)
        return plain(0.2, 0.45, 0.48, 0.05, 0.05, 1.0)
    return wood(0.5, 0.3, 0.15, y, x, z, 2.0)


@compiled
def lighthouse_finish(part: int, x: float, y: float, z: float, things: Table, i: int) -> Finish:
    """Red and cream bands, chipped to the wood here and there."""
    if part == PANE:
        return lit_paper(0.0, 0.0, 6.0)
    if part == DOOR:
        return plain(0.06, 0.16, 0.17, 0.3, 0.03, brushed(y, x, z))
    if part == SECOND_PAINT:
        return plain(0.44, 0.075, 0.045, 0.2, 0.05, brushed(x, y, z))
    band = (y + 0.08 * noise(2.0 * x, y, 2.0 * z)) * 5.0 / things[i, SIZES]
    chipped = rough(1.6 * x, 1.6 * y, 1.6 * z) > 0.62
    if chipped:
        return wood(0.5, 0.34, 0.2, y, x, z, 4.0)
    if band % 2.0 < 1.0:
        return plain(0.5, 0.075, 0.05, 0.25, 0.04, brushed(y, 0.4 * x, 0.4 * z))
    return plain(0.78, 0.7, 0.56, 0.25, 0.04, brushed(y, 0.4 * x, 0.4 * z))


@compiled
def common_finish(part: int, x: float, y: float, z: float, things: Table, i: int) -> Finish:
    """Materials that are the same wherever they are used."""
    r, g, b = things[i, COLOUR], things[i, COLOUR + 1], things[i, COLOUR + 2]
    if part == COTTON:
        return plain(0.80, 0.77, 0.74, 0.0, 0.2, 1.0 + 0.06 * noise(5.0 * x, 5.0 * y, 5.0 * z))
    if part == THREAD:
        return plain(0.5, 0.43, 0.32, 0.1, 0.0, 1.0)
    if part == ROPE:
        lay = sin(5.0 * (atan2(z, x) * 2.0 + 3.0 * y))
        return plain(0.5, 0.36, 0.19, 0.0, 0.2, 0.85 + 0.3 * lay)
    if part == BRASS:
        return plain(0.20, 0.14, 0.08, 0.7, 0.04, 1.0)
    if part == LIT_GLASS:
        return 0.5, 0.4, 0.2, 0.8, 0.0, 7.5, 4.7, 1.75
    if part == FELT:
        fibre = noise(4.0 * x, 13.0 * y, 4.0 * z) + noise(13.0 * x, 4.0 * y, 13.0 * z)
        return plain(r, g, b, 0.0, 0.25, 1.0 + 0.14 * fibre)
    if part == STONE:
        dry = rise(-0.1, 0.6, rough(2.3 * x, 2.3 * y, 2.3 * z))
        return plain(blend(r, 0.5, 0.4 * dry), blend(g, 0.45, 0.4 * dry), blend(b, 0.4, 0.4 * dry),
                     0.08, 0.15, blend(0.55, 1.0, rise(0.0, 1.4, y)))  # fmt: skip
    if part == PAPER:
        return plain(0.85, 0.82, 0.76, 0.05, 0.05, 1.0)
    if part == FLAG:
        return plain(0.72, 0.5, 0.1, 0.05, 0.05, brushed(x, y, z))
    return wood(0.42, 0.27, 0.15, y, x, z, 1.0 + things[i, SEED])


@compiled
def quay_finish(part: int, x: float, y: float, z: float, things: Table, i: int) -> Finish:
    """Boards in tones of their own: the deck dry, the wall damp at its foot."""
    plank = things[i, SIZES + 3]
    if part == ROPE:
        return wood(0.2, 0.14, 0.09, y, x, z, 3.0)
    if part == DECK:
        course = (y + 10.0) / 0.95
        r, g, b, gloss, tooth, _, _, _ = wood(0.25, 0.18, 0.125, x, y, z, course // 1.0)
        damp = blend(0.45, 1.0, rise(0.0, 0.8, y + 0.2 * noise(0.8 * x, 0.0, 2.0)))
        return plain(r, g, b, gloss, tooth, damp)
    seam = abs((x / plank) % 1.0 - 0.5) * plank
    r, g, b, gloss, tooth, _, _, _ = wood(0.27, 0.19, 0.125, z, x, y, x // plank)
    return plain(r, g, b, gloss, tooth, 1.0 - 0.7 * rise(0.14, 0.05, 0.5 * plank - seam))


@compiled
def moon_finish(x: float, y: float, radius: float) -> Finish:
    """Tissue over a lamp: cream, blotched with thin washes, brighter in the middle."""
    seas = rise(0.05, 0.5, rough(0.5 * x + 3.0, 0.5 * y, 2.0))
    pulp = 1.0 + 0.06 * noise(5.0 * x, 5.0 * y, 1.0)
    level = 0.62 * pulp * (1.0 - 0.3 * seas) * (1.0 - 0.22 * (x * x + y * y) / radius**2)
    return 0.6, 0.55, 0.45, 0.0, 0.05, level, level * 0.86, level * 0.58


@compiled
def finish(
    kind: int, part: int, x: float, y: float, z: float, nx: float, nz: float, things: Table, i: int
) -> Finish:
    """The finish of thing i at a point of its own frame, where the surface faces (nx, -, nz)."""
    if part in (COTTON, THREAD, BRASS, LIT_GLASS, STONE, PAPER):
        return common_finish(part, x, y, z, things, i)
    r, g, b = things[i, COLOUR], things[i, COLOUR + 1], things[i, COLOUR + 2]
    if kind == BOAT:
        return boat_finish(part, x, y, z)
    if kind == HOUSE:
        return house_finish(part, x, y, z, nx, nz, things, i)
    if kind == HILL:
        return hill_finish(x, y, z, things, i)
    if kind == QUAY:
        return quay_finish(part, x, y, z, things, i)
    if kind == LIGHTHOUSE and part != WOOD:
        return lighthouse_finish(part, x, y, z, things, i)
    if kind == MOON:
        return moon_finish(x, y, things[i, SIZES])
    if kind == PEG:
        return doll_finish(part, x, y, z, things[i, SIZES], r, g, b)
    if kind == CRATE:
        board = y // (0.5 * things[i, SIZES]) + (3.0 if part == WOOD else 0.0)
        return wood(r, g, b, x, y, z, board + things[i, SEED])
    if kind == ROWING_BOAT and part == HULL:
        return hull_finish(x, y + 0.5, z, r, g, b)
    if kind == BUOY and part == PAINT:
        if abs(y - 0.35 * things[i, SIZES] - 0.5) < 0.38:
            return plain(0.8, 0.7, 0.55, 0.45, 0.02, brushed(x, y, z))
        return plain(r, g, b, 0.45, 0.02, brushed(x, y, z))
    if kind == BARREL:
        stave = atan2(z, x) * 9.0 / pi
        return wood(0.36, 0.2, 0.1, y, x, z, stave // 1.0)
    return common_finish(part, x, y, z, things, i)
