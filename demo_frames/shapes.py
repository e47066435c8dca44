"""The things on the table as signed distances, in centimetres, each in its own frame.

A shape gives (distance, part): how far the point is from the surface (negative inside) and which
part of the thing is nearest, so that `materials` knows whether it is paint, felt or paper.
In a thing's frame x runs to the right, y up from its foot, z away from the camera. `a`, `b`, … are
its sizes, in the order that `scene` gives them.
"""

from math import atan2, cos, exp, hypot, pi, sin, sqrt

from noise import Table, clamp, compiled, dice, noise, rise, rough

(
    HOUSE, LIGHTHOUSE, HILL, QUAY, TREE, POMPOM, ROCK, CLOUD, MOON, PEG, CRATE, LAMP, GARLAND,
    ROWING_BOAT, BUOY, POST, BOAT, BARREL, GULL,
) = range(19)  # fmt: skip
GROUP = 19

(
    CARD, PANE, FRAME, ROOF, DOOR, WOOD, PAINT, SECOND_PAINT, WHITE_PAINT, BRASS, LIT_GLASS, FELT,
    STONE, COTTON, PAPER, THREAD, ROPE, HEAD, HULL, DECK, FLAG, SNOUT,
) = range(22)  # fmt: skip

FAR = 1e9
SIZES = 14  # the column of a thing's row where its sizes begin (see `scene`)
SEED = 28


@compiled
def nearer(d: float, part: int, other: float, other_part: int) -> tuple[float, int]:
    """The nearer of two (distance, part) pairs: the two things glued together."""
    if other < d:
        return other, other_part
    return d, part


@compiled
def melted(d: float, e: float, width: float) -> float:
    """Two shapes run together over `width`, as soft material does."""
    h = max(width - abs(d - e), 0.0) / width
    return min(d, e) - 0.25 * h * h * width


@compiled
def box(x: float, y: float, z: float, a: float, b: float, c: float, round_: float) -> float:
    """A block of half sizes a, b, c with its edges sanded to a radius."""
    qx, qy, qz = abs(x) - a + round_, abs(y) - b + round_, abs(z) - c + round_
    outside = sqrt(max(qx, 0.0) ** 2 + max(qy, 0.0) ** 2 + max(qz, 0.0) ** 2)
    return outside + min(max(qx, qy, qz), 0.0) - round_


@compiled
def dowel(x: float, y: float, z: float, radius: float, half: float, round_: float) -> float:
    """An upright round rod."""
    qr, qy = hypot(x, z) - radius + round_, abs(y) - half + round_
    return hypot(max(qr, 0.0), max(qy, 0.0)) + min(max(qr, qy), 0.0) - round_


@compiled
def ball(x: float, y: float, z: float, radius: float) -> float:
    """A ball."""
    return sqrt(x * x + y * y + z * z) - radius


@compiled
def cone(x: float, y: float, z: float, foot: float, top: float, height: float) -> float:
    """A round taper standing on y = 0."""
    slope = (foot - top) / height
    r = foot - slope * clamp(y, 0.0, height)
    side = (hypot(x, z) - r) / sqrt(1.0 + slope * slope)
    return max(side, y - height, -y)


@compiled
def cord(
    x: float, y: float, z: float,
    ax: float, ay: float, az: float, bx: float, by: float, bz: float, radius: float,
) -> float:  # fmt: skip
    """A taut cord between two points."""
    px, py, pz, dx, dy, dz = x - ax, y - ay, z - az, bx - ax, by - ay, bz - az
    t = clamp((px * dx + py * dy + pz * dz) / (dx * dx + dy * dy + dz * dz), 0.0, 1.0)
    return ball(px - t * dx, py - t * dy, pz - t * dz, radius)


@compiled
def ring(x: float, y: float, z: float, radius: float, thick: float) -> float:
    """A flat-lying hoop."""
    return hypot(hypot(x, z) - radius, y) - thick


# ---- ashore ----------------------------------------------------------------------------------


@compiled
def window_at(x: float, width: float, columns: float) -> float:
    """How far along the wall from the middle of the nearest window column."""
    pitch = width / columns
    column = clamp((x + 0.5 * width) // pitch, 0.0, columns - 1.0)
    return x + 0.5 * width - (column + 0.5) * pitch


@compiled
def openings(
    x: float, y: float, w: float, h: float, columns: float, rows: float, ground: float
) -> tuple[float, float, float, float]:
    """The place in the nearest window of a house front, x and y from its middle; half its size."""
    storey = (h - ground) / rows
    level = clamp((y - ground) // storey, 0.0, rows - 1.0)
    wx, wy = window_at(x, 0.9 * w, columns), y - ground - (level + 0.5) * storey
    return wx, wy, min(0.26 * w / columns, 0.62), min(0.33 * storey, 0.85)


@compiled
def front(x: float, y: float, z: float, walls: float, things: Table, i: int) -> tuple[float, int]:
    """The walls of a house with its windows cut and framed, a shop door, an eye in the attic."""
    w, h, t = things[i, SIZES], things[i, SIZES + 1], things[i, SIZES + 2]
    r, gable, ground = things[i, SIZES + 3], things[i, SIZES + 6], things[i, SIZES + 7]
    face = z + 0.5 * t
    wx, wy, ww, wh = openings(x, y, w, h, things[i, SIZES + 4], things[i, SIZES + 5], ground)
    opening = box(wx, wy, face, ww, wh, 0.32, 0.0)
    if gable > 0.5:
        opening = min(opening, hypot(hypot(x, y - h - 0.34 * r), face * 0.3) - min(0.16 * r, 0.5))
    d, part = max(walls, -opening), CARD
    if d < 0.3 and face > 0.22 and opening < 0.02:
        part = PANE
    bars = min(max(abs(wx) - 0.06, abs(wy) - wh), max(abs(wy) - 0.06, abs(wx) - ww))
    border = max(abs(wx) - ww - 0.1, abs(wy) - wh - 0.1, -max(abs(wx) - ww, abs(wy) - wh))
    d, part = nearer(d, part, max(min(bars, border), abs(face + 0.01) - 0.06), FRAME)
    sill = box(wx, wy + wh + 0.08, face, ww + 0.16, 0.07, 0.2, 0.02)
    d, part = nearer(d, part, sill, FRAME)
    if ground > 1.5:
        dx = x - (0.24 * w if things[i, SEED] % 2 < 1 else -0.2 * w)
        d, part = nearer(d, part, box(dx, y - 1.0, face, 0.62, 1.05, 0.1, 0.03), DOOR)
        d, part = nearer(d, part, ball(dx - 0.38, y - 1.0, face + 0.13, 0.09), BRASS)
        d, part = nearer(d, part, box(dx, y - 0.1, face + 0.3, 0.8, 0.12, 0.35, 0.03), WOOD)
    return d, part


@compiled
def house(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A card house: w wide, h to the eaves, t deep, roof r high, windows in columns and rows.

    The ridge runs along x, or toward the camera where `gable` is 1. Panes of lit paper sit in
    openings cut through the card; the roof is a sheet of corrugated card with its face peeled off.
    """
    w, h, t, r = things[i, SIZES], things[i, SIZES + 1], things[i, SIZES + 2], things[i, SIZES + 3]
    along, across, half, length = x, z, 0.5 * t, 0.5 * w
    if things[i, SIZES + 6] > 0.5:
        along, across, half, length = z, x, 0.5 * w, 0.5 * t
    pitch = ((y - h) * half + (abs(across) - half) * r) / hypot(r, half)
    walls = max(box(x, y - 0.5 * (h + r), z, 0.5 * w, 0.5 * (h + r), 0.5 * t, 0.03), pitch)
    outside = min(walls - 0.8, box(x, y - h - r - 0.4, z, 0.5 * w, 1.7, 0.5 * t, 0.0))
    if outside > 0.4:
        return outside, CARD

    d, part = front(x, y, z, walls, things, i)
    flute = 0.055 * sin(2.0 * pi * along / 0.46)
    sheet = max(
        abs(pitch - 0.2 + flute) - 0.16,
        abs(along) - length - 0.45,
        h - y - 0.62 * r / half,
        abs(across) - half - 0.7,
    )
    d, part = nearer(d, part, 0.8 * sheet, ROOF)
    sx, sy, sz = along - 0.45 * length, y - h - 0.9 * r, across - 0.3 * half
    stack = box(sx, sy, sz, 0.5, 1.15, 0.45, 0.04)
    return nearer(d, part, min(stack, dowel(sx, sy - 1.3, sz, 0.22, 0.4, 0.03)), SECOND_PAINT)


@compiled
def lighthouse(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A turned and painted tower h high with a gallery, a lit lantern and a paper cap."""
    h, foot = things[i, SIZES], things[i, SIZES + 1]
    top = 0.62 * foot
    outside = hypot(x, z) - foot - 0.4
    if outside > 0.5:
        return outside, PAINT
    d, part = cone(x, y, z, foot, top, h), PAINT
    for storey in range(3):
        wy = y - h * (0.2 + 0.25 * storey)
        slit = box(x + 0.35, wy, z + foot * (1.0 - 0.1 * storey), 0.2, 0.42, 0.75, 0.15)
        if -slit > d - 0.02:
            d, part = max(d, -slit), PANE
    d, part = nearer(d, part, box(x - 0.2, y - 1.1, z + foot, 0.5, 1.1, 0.12, 0.1), DOOR)
    d, part = nearer(d, part, dowel(x, y - h - 0.12, z, top + 0.75, 0.16, 0.05), WOOD)
    turn = 2.0 * pi / 14.0
    angle = atan2(z, x)
    angle -= turn * ((angle + 0.5 * turn) // turn)
    r = hypot(x, z)
    rx, rz = r * cos(angle) - top - 0.6, r * sin(angle)
    rail = min(dowel(rx, y - h - 0.7, rz, 0.06, 0.5, 0.0), ring(x, y - h - 1.2, z, top + 0.6, 0.06))
    d, part = nearer(d, part, rail, BRASS)
    d, part = nearer(d, part, dowel(x, y - h - 1.25, z, 0.72 * top, 1.0, 0.05), LIT_GLASS)
    bx, bz = r * cos(angle) - 0.74 * top, r * sin(angle)
    d, part = nearer(d, part, max(hypot(bx, bz) - 0.055, abs(y - h - 1.25) - 1.0), BRASS)
    d, part = nearer(d, part, cone(x, y - h - 2.2, z, top + 0.25, 0.08, 1.7), SECOND_PAINT)
    d, part = nearer(d, part, ball(x, y - h - 4.0, z, 0.24), BRASS)
    return d, part


@compiled
def hill_line(x: float, h: float, seed: float) -> float:
    """The outline of a felt hill: the height of its edge at x."""
    return h * (
        0.72
        + 0.2 * sin(0.062 * x + 2.1 * seed)
        + 0.1 * sin(0.13 * x + 4.7 * seed)
        + 0.035 * sin(0.31 * x + 1.3 * seed)
    )


@compiled
def hill(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A hill cut from thick felt, standing on edge like a theatre flat."""
    edge = 0.82 * (y - hill_line(x, things[i, SIZES], things[i, SEED]))
    fuzz = 0.0
    if abs(edge) < 0.5:
        fuzz = 0.05 * noise(7.0 * x, 7.0 * y, 7.0 * z)
    return hypot(max(edge + 0.4, 0.0), max(abs(z) - 0.15, 0.0)) - 0.4 + fuzz, FELT


@compiled
def quay(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A staging of planks: half sizes a and c, deck at height b, piles along its front."""
    a, b, c = things[i, SIZES], things[i, SIZES + 1], things[i, SIZES + 2]
    plank = things[i, SIZES + 3]
    gap = abs((x / plank) % 1.0 - 0.5) * plank
    tilt = 0.07 * dice(int(x // plank), 3, int(things[i, SEED]))
    deck = box(x, y - b + 0.2 + tilt, z, a, 0.2, c, 0.03)
    deck = max(deck, gap - 0.5 * plank + 0.055)
    wall = box(x, 0.5 * (y + y - b) - 0.1, z - 0.25, a - 0.1, 0.5 * b + 0.3, c - 0.25, 0.03)
    course = abs(((y + 10.0) / 0.95) % 1.0 - 0.5) * 0.95
    wall += 0.04 * rise(0.41, 0.47, course)
    d, part = deck, WOOD
    d, part = nearer(d, part, wall, DECK)
    pitch = things[i, SIZES + 4]
    px = x - pitch * clamp((x + 0.5 * pitch) // pitch, -(a // pitch), a // pitch)
    d, part = nearer(d, part, dowel(px, y - 0.35 * b, z + c + 0.2, 0.34, 0.85 * b, 0.1), ROPE)
    return d, part


@compiled
def tree(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A fir of stacked felt skirts on a stick."""
    h, foot = things[i, SIZES], things[i, SIZES + 1]
    outside = 0.9 * (hypot(x, z) - foot * (1.05 - y / h)) - 0.5
    if outside > 0.5:
        return outside, FELT
    u = clamp((y - 0.16 * h) / (0.84 * h), 0.0, 1.0)
    skirt = (u * 6.0) % 1.0
    lobes = 0.12 * sin(9.0 * atan2(z, x) + 2.4 * (u * 6.0 // 1.0)) * skirt
    r = foot * (1.0 - u) * (0.74 + 0.26 * (1.0 - skirt)) + 0.1 + lobes * 0.5
    d = max(0.6 * (hypot(x, z) - r), y - h, 0.16 * h - y)
    if abs(d) < 0.4:
        d += 0.05 * noise(6.0 * x, 6.0 * y, 6.0 * z)
    return nearer(d, FELT, dowel(x, y - 0.1 * h, z, 0.22, 0.12 * h, 0.0), WOOD)


@compiled
def pompom(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A tree of woolly balls on a stick: height, radius."""
    h, r = things[i, SIZES], things[i, SIZES + 1]
    d = melted(ball(x, y - h, z, r), ball(x - 0.7 * r, y - h + 0.55 * r, z - 0.2, 0.72 * r), 0.3)
    d = melted(d, ball(x + 0.75 * r, y - h + 0.35 * r, z + 0.2, 0.66 * r), 0.3)
    if abs(d) < 0.6:
        d = 0.7 * (d + 0.16 * rough(3.6 * x, 3.6 * y, 3.6 * z + things[i, SEED]))
    return nearer(d, FELT, dowel(x, y - 0.5 * h, z, 0.2, 0.5 * h, 0.0), WOOD)


@compiled
def rock(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A skerry of papier-mâché: half sizes a, b, c, folded and lumpy, its top flattened."""
    a, b, c = things[i, SIZES], things[i, SIZES + 1], things[i, SIZES + 2]
    d = (sqrt((x / a) ** 2 + (y / b) ** 2 + (z / c) ** 2) - 1.0) * min(a, b, c)
    d = max(d, y - 0.8 * b)
    if d < 1.5:
        s = things[i, SEED]
        fold = abs(noise(0.55 * x + s, 0.75 * y, 0.55 * z)) * 0.9
        d += 0.55 - fold + 0.18 * rough(1.9 * x, 1.9 * y, 1.9 * z + s)
    return 0.62 * d, STONE


@compiled
def wad(x: float, y: float, z: float, ragged: float) -> float:
    """How far teased cotton stands out from the ball it was pulled from."""
    return ragged * (0.6 * rough(0.8 * x, 0.8 * y, 0.8 * z) + 0.07 * noise(7 * x, 7 * y, 7 * z))


@compiled
def cloud(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A long wad of cotton, half sizes a and b, hung on two threads."""
    a, b, s = things[i, SIZES], things[i, SIZES + 1], things[i, SEED]
    d = FAR
    for lump in range(7):
        u = (lump - 3.0) / 3.6
        r = b * (1.0 - 0.5 * u * u) * (0.8 + 0.4 * dice(lump, 5, int(s)))
        cy = 0.4 * b * (dice(lump, 9, int(s)) - 0.4)
        d = melted(d, ball(x - a * u, y - cy, z - (dice(lump, 7, int(s)) - 0.5) * b, r), 0.9 * b)
    if d < 2.0:
        d = 0.6 * (d + wad(x + 9.0 * s, y, z, 1.1))
    hang = min(hypot(x - 0.55 * a, z), hypot(x + 0.5 * a, z)) - 0.045
    return nearer(d, COTTON, max(hang, -y), THREAD)


@compiled
def moon(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A disc of lit paper, radius a, on a thread."""
    a = things[i, SIZES]
    disc = max(hypot(x, y) - a, abs(z) - 0.2)
    return nearer(disc, PANE, max(hypot(x, z) - 0.05, a - 0.1 - y), THREAD)


@compiled
def doll(x: float, y: float, z: float, scale: float) -> tuple[float, int]:
    """A turned peg figure with a sou'wester, about 4 cm high at scale 1."""
    x, y, z = x / scale, y / scale, z / scale
    d, part = melted(cone(x, y, z, 0.78, 0.34, 2.1), ball(x, y - 0.55, z, 0.74), 0.3), PAINT
    arms = min(
        cord(x, y, z, 0.3, 1.75, -0.25, 0.78, 1.0, -0.5, 0.17),
        cord(x, y, z, 0.3, 1.75, 0.25, 0.78, 1.0, 0.5, 0.17),
    )
    d, part = nearer(d, part, arms, PAINT)
    d, part = nearer(d, part, ring(x, y - 2.02, z, 0.36, 0.14), SECOND_PAINT)
    d, part = nearer(d, part, ball(x, y - 2.6, z, 0.62), HEAD)
    d, part = nearer(d, part, ball(x - 0.62, y - 2.55, z - 0.02, 0.13), SNOUT)
    lx, ly = 0.97 * x - 0.24 * (y - 2.97), 0.24 * x + 0.97 * (y - 2.97)
    hat = melted(
        max(ball(lx, ly - 0.02, z, 0.6), -ly),
        max(ball(lx + 0.08, 3.2 * (ly - 0.02), z, 0.86) * 0.35, abs(ly) - 0.2),
        0.15,
    )
    d, part = nearer(d, part, hat, FLAG)
    return 0.9 * d * scale, part


@compiled
def crate(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A box of thin slats, half size a."""
    a = things[i, SIZES]
    d = box(x, y - a, z, a - 0.06, a - 0.06, a - 0.06, 0.0)
    slat = abs((y / (0.5 * a)) % 1.0 - 0.5)
    slats = box(x, y - a, z, a, a, a, 0.02) + 0.05 * rise(0.4, 0.48, slat)
    corner = max(box(x, y - a, z, a + 0.06, a, a + 0.06, 0.02), 0.75 * a - abs(x))
    return nearer(min(d, slats), WOOD, corner, WOOD)


@compiled
def lamp(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A wire lamp post of height a with a bead for a bulb and a tin shade."""
    a = things[i, SIZES]
    d = dowel(x, y - 0.5 * a, z, 0.11, 0.5 * a, 0.02)
    d = min(d, dowel(x, y - 0.2, z, 0.34, 0.2, 0.08))
    d = min(d, cord(x, y, z, 0.0, a - 0.05, 0.0, 0.75, a + 0.3, -0.2, 0.1))
    d = min(d, cone(x - 0.75, y - a + 0.05, z + 0.2, 0.55, 0.1, 0.42))
    return nearer(d, BRASS, ball(x - 0.75, y - a + 0.15, z + 0.2, 0.36), LIT_GLASS)


@compiled
def garland(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A string of beads, span a, sag b, lit one by one; hung between two points at y = 0."""
    a, b, count = things[i, SIZES], things[i, SIZES + 1], things[i, SIZES + 2]
    u = clamp(2.0 * x / a, -1.0, 1.0)
    wire = hypot(0.9 * (y + b * (1.0 - u * u)), z) - 0.045
    wire = max(wire, abs(x) - 0.5 * a)
    bead = clamp((u + 1.0) * 0.5 * count // 1.0, 0.0, count - 1.0)
    bu = 2.0 * (bead + 0.5) / count - 1.0
    bulb = ball(x - 0.5 * a * bu, y + b * (1.0 - bu * bu) + 0.34, z, 0.27)
    return nearer(wire, THREAD, bulb, LIT_GLASS)


@compiled
def post(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A mooring post, height a and radius b, with turns of rope round it."""
    a, b = things[i, SIZES], things[i, SIZES + 1]
    d, part = dowel(x, y - 0.5 * a, z, b, 0.5 * a, 0.12), WOOD
    d, part = nearer(d, part, dowel(x, y - a, z, 1.12 * b, 0.22, 0.1), WOOD)
    for turn in range(4):
        tilt = 0.12 * sin(1.7 * turn) * x / b
        d, part = nearer(d, part, ring(x, y - 0.52 * a - 0.36 * turn + tilt, z, b, 0.2), ROPE)
    return d, part


@compiled
def barrel(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A coopered barrel, height a."""
    a = things[i, SIZES]
    u = 2.0 * y / a - 1.0
    r = a * (0.36 - 0.07 * u * u)
    staves = 0.02 * abs(sin(9.0 * atan2(z, x)))
    d = max(0.9 * (hypot(x, z) - r + staves), y - a, -y)
    hoop = max(0.9 * (hypot(x, z) - r - 0.04), abs(abs(u) - 0.6) * 0.5 * a - 0.13)
    d = max(d, -max(hypot(x, z) - r + 0.14, a - 0.1 - y))
    return nearer(d, WOOD, hoop, BRASS)


# ---- afloat ----------------------------------------------------------------------------------


@compiled
def canoe(x: float, y: float, z: float, long: float, beam: float, top: float) -> float:
    """A pointed hull: half length, half beam, height of the gunwale amidships."""
    w = beam * (0.78 + 0.22 * clamp(y / top, 0.0, 1.4))
    r = (long * long + w * w) / (2.0 * w)
    side = hypot(x, abs(z) + r - w) - r
    sheer = top + 0.38 * top * (x / long) ** 2 * (1.0 if x > 0.0 else 0.45)
    return max(0.93 * side, y - sheer, -y - 0.8)


@compiled
def rowing_boat(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """An open boat, half length a, with two thwarts and a pair of oars."""
    a = things[i, SIZES]
    shell = canoe(x, y, z, a, 0.42 * a, 0.3 * a)
    inside = canoe(x, y, z, a - 0.3, 0.42 * a - 0.16, 9.0)
    d, part = max(shell, -max(inside, 0.12 - y)), HULL
    seats = max(inside - 0.1, abs(y - 0.2 * a) - 0.08, abs(abs(x) - 0.35 * a) - 0.3)
    d, part = nearer(d, part, seats, WOOD)
    oar = cord(x, y, z, -0.7 * a, 0.36 * a, 0.1, 0.75 * a, 0.3 * a, -0.3 * a, 0.09)
    return nearer(d, part, oar, WOOD)


@compiled
def buoy(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A painted wooden ball of radius a with a stick and a pennant."""
    a = things[i, SIZES]
    d, part = ball(x, y - 0.35 * a, z, a), PAINT
    d, part = nearer(d, part, ring(x, y - 0.3 * a, z, a, 0.1), ROPE)
    d, part = nearer(d, part, dowel(x, y - 2.2 * a, z, 0.09, 1.3 * a, 0.0), WOOD)
    wave = 0.1 * sin(3.0 * x)
    pennant = max(abs(z + wave) - 0.04, abs(y - 3.05 * a) - 0.42 + 0.26 * x, -x, x - 1.5)
    return nearer(d, part, 0.8 * pennant, FLAG)


@compiled
def gull(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """A gull folded from paper, span 2a, on a thread."""
    a = things[i, SIZES]
    u = abs(x) / a
    fold = 0.42 * a * (u * 1.5 - u * u * 1.1)
    chord = 0.3 * a * (1.0 - u) + 0.05
    wing = max(abs(y - fold) - 0.045, abs(z) - chord, abs(x) - a) * 0.7
    body = ball(x, 1.0 * (y - 0.02), 0.42 * z, 0.15 * a) * 0.8
    d, part = nearer(wing, PAPER, body, PAPER)
    return nearer(d, part, max(hypot(x, z) - 0.03, -y), THREAD)


@compiled
def bunting(x: float, y: float, z: float) -> float:
    """Paper triangles on the stay from the masthead to the bow."""
    ax, ay, dx, dy, span = 2.55, 9.3, 4.0, -5.9, 7.128
    s = ((x - ax) * dx + (y - ay) * dy) / span
    across = ((x - ax) * -dy + (y - ay) * dx) / span
    if s < 0.2 or s > span - 0.5:
        return FAR
    slot = (s - 0.2) % 1.1 - 0.5
    wave = 0.07 * sin(4.0 * s)
    return 0.8 * max(abs(z + wave) - 0.03, abs(slot) - 0.42 * (1.0 + across / 1.15), across)


@compiled
def smoke(x: float, y: float, z: float) -> float:
    """Three pulls of cotton on a wire, leaning back from the funnel."""
    d = melted(ball(x + 1.75, y - 7.55, z, 0.5), ball(x + 2.65, y - 8.5, z - 0.1, 0.78), 0.7)
    d = melted(d, ball(x + 4.1, y - 9.35, z - 0.2, 1.0), 0.7)
    d = melted(d, ball(x + 5.5, y - 9.8, z - 0.3, 0.7), 0.7)
    return 0.7 * (d + wad(1.6 * x, 1.6 * y, 1.6 * z, 0.42)) if d < 1.5 else d


@compiled
def wake(x: float, y: float, z: float) -> float:
    """Cotton at the waterline: a curl at the bow and two thinning trails."""
    lean = abs(z) - 0.55 - 0.3 * (6.4 - x)
    if x < 0.0:
        lean = abs(z) - 2.45 + 0.09 * x
    width = 0.24 + 0.05 * (6.4 - x)
    clump = 0.55 + 0.45 * noise(1.1 * x, 2.0, z // 100.0)
    thick = (0.30 * rise(-7.6, 5.5, x) + 0.05) * clump
    d = max(hypot(lean / width, (y - 0.05) / thick) - 1.0, 0.3 * (abs(x) - 7.2)) * thick
    return 0.6 * (d + wad(2.9 * x, 2.9 * y, 2.9 * z, 0.24)) if d < 0.8 else 0.8 * d


@compiled
def superstructure(x: float, y: float, z: float) -> tuple[float, int]:
    """The wheelhouse with its lit panes, the funnel, the mast and the lantern on it."""
    cabin = box(x + 0.2, y - 2.9, z, 1.75, 1.75, 1.2, 0.08)
    wx = window_at(x + 0.2, 3.3, 3.0)
    pane = min(
        box(wx, y - 3.55, z, 0.38, 0.5, 1.4, 0.12),
        box(x + 0.2, y - 3.55, abs(z) - 0.5, 2.0, 0.5, 0.38, 0.1),
    )
    d, part = max(cabin, -pane), WHITE_PAINT
    if pane < 0.04:
        part = PAINT
    glow = box(x + 0.2, y - 2.9, z, 1.6, 1.6, 1.05, 0.05)
    d, part = nearer(d, part, glow, PANE)
    roof = box(x + 0.2, y - 4.72 + 0.02 * z * z, z, 2.15, 0.13, 1.55, 0.08)
    d, part = nearer(d, part, roof, ROOF)
    fx = x + 1.35 + 0.08 * (y - 5.0)
    funnel = max(dowel(fx, y - 5.7, z, 0.55, 1.1, 0.04), -dowel(fx, y - 6.6, z, 0.42, 0.6, 0.0))
    d, part = nearer(d, part, funnel, SECOND_PAINT)
    mast = min(
        dowel(x - 2.55, y - 5.5, z, 0.13, 4.0, 0.05),
        cord(x, y, z, 2.55, 8.2, 0.0, 2.55, 7.6, -0.75, 0.07),
    )
    d, part = nearer(d, part, mast, WOOD)
    d, part = nearer(d, part, ball(x - 2.55, y - 7.15, z + 0.75, 0.4), LIT_GLASS)
    d, part = nearer(d, part, cone(x - 2.55, y - 7.42, z + 0.75, 0.42, 0.06, 0.3), BRASS)
    return nearer(d, part, dowel(x - 2.55, y - 6.78, z + 0.75, 0.3, 0.07, 0.02), BRASS)


@compiled
def stays(x: float, y: float, z: float) -> float:
    """The stays of the mast, and the wire that carries the smoke."""
    return min(
        cord(x, y, z, 2.55, 9.3, 0.0, 6.55, 3.4, 0.0, 0.035),
        cord(x, y, z, 2.55, 9.3, 0.0, -2.2, 4.8, 0.0, 0.03),
        cord(x, y, z, -1.4, 6.5, 0.0, -5.3, 9.8, 0.3, 0.035),
    )


@compiled
def skipper_place(x: float, z: float) -> tuple[float, float]:
    """The skipper stands aft, turned a little toward the camera."""
    x, z = x + 4.1, z + 0.35
    return 0.766 * x - 0.643 * z, 0.643 * x + 0.766 * z


@compiled
def boat(x: float, y: float, z: float) -> tuple[float, int]:
    """The ferry: carved hull, plank deck, wheelhouse, skipper aft, cotton smoke and wake."""
    hull = canoe(x, y, z, 6.7, 2.45, 2.0)
    sheer = 2.0 + 0.76 * (x / 6.7) ** 2 * (1.0 if x > 0.0 else 0.45)
    strake = 0.1 * exp(-((y - sheer + 0.5) ** 2) / 0.012)
    d, part = max(hull - strake, -max(hull + 0.28, 1.3 + 0.5 * (sheer - 2.0) - y)), HULL
    if hull < -0.25 and y < sheer - 0.2:
        part = DECK
    d, part = nearer(d, part, wake(x, y, z), COTTON)
    if y > 0.0:
        if box(x - 0.2, y - 5.3, z, 2.9, 4.3, 1.6, 0.0) < d:
            above, above_part = superstructure(x, y, z)
            d, part = nearer(d, part, above, above_part)
        sx, sz = skipper_place(x, z)
        if ball(sx, y - 3.0, sz, 2.1) < d:
            above, above_part = doll(sx, y - 1.35, sz, 0.92)
            d, part = nearer(d, part, above, 100 + above_part)
        d, part = nearer(d, part, stays(x, y, z), THREAD)
        d, part = nearer(d, part, bunting(x, y, z), FLAG)
        if ball(x + 3.6, y - 8.7, z, 3.2) < d:
            d, part = nearer(d, part, smoke(x, y, z), COTTON)
    else:
        d = min(d, 1.3 - y)  # all that stands on deck is above this
    return d, part


@compiled
def shape(kind: int, x: float, y: float, z: float, things: Table, i: int) -> tuple[float, int]:
    """The distance to thing i, and its nearest part, at a point of its own frame."""
    if kind == BOAT:
        return boat(x, y, z)
    if kind == HOUSE:
        return house(x, y, z, things, i)
    if kind == HILL:
        return hill(x, y, z, things, i)
    if kind == QUAY:
        return quay(x, y, z, things, i)
    if kind == LIGHTHOUSE:
        return lighthouse(x, y, z, things, i)
    if kind == TREE:
        return tree(x, y, z, things, i)
    if kind == POMPOM:
        return pompom(x, y, z, things, i)
    if kind == ROCK:
        return rock(x, y, z, things, i)
    if kind == CLOUD:
        return cloud(x, y, z, things, i)
    if kind == MOON:
        return moon(x, y, z, things, i)
    if kind == PEG:
        return doll(x, y, z, things[i, SIZES])
    if kind == CRATE:
        return crate(x, y, z, things, i)
    if kind == LAMP:
        return lamp(x, y, z, things, i)
    if kind == GARLAND:
        return garland(x, y, z, things, i)
    if kind == ROWING_BOAT:
        return rowing_boat(x, y, z, things, i)
    if kind == BUOY:
        return buoy(x, y, z, things, i)
    if kind == POST:
        return post(x, y, z, things, i)
    if kind == BARREL:
        return barrel(x, y, z, things, i)
    return gull(x, y, z, things, i)
