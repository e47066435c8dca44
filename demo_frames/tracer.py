"""The camera, the lamps and the ray marcher.

A ray marches only inside the boxes of the things it passes, each in the thing's own frame. Every
pixel draws its samples from the same well-spread sequence, shifted by a hash of the pixel, so a
pixel that the boat does not touch comes out the same in every still.
"""

from math import cos, exp, hypot, pi, sin, sqrt

import numba
import numpy as np
import numpy.typing as npt
from materials import finish
from noise import Table, blend, clamp, compiled, dice, noise, rough
from shapes import COTTON, FAR, GROUP, shape

Light = npt.NDArray[np.float32]
Mask = npt.NDArray[np.bool_]

KIND, LOW, HIGH, PLACE, TURN, ROLL, HELD = 0, 1, 4, 7, 10, 12, 29  # columns of a row
WATER, BACKDROP = -1, -2

# The camera: a 45 mm lens on a 36 mm wide sensor, locked off, stopped well down.
EYE = (0.0, 17.5, -88.0)
PITCH = -4.3 * pi / 180.0
HALF_WIDTH = 18.0 / 45.0
FOCUS = 92.0
LENS_RADIUS = 0.17

# The key: a warm softbox, low on the left. Brightness is what reaches the middle of the table.
KEY = (-92.0, 58.0, -52.0)
KEY_RADIUS = 10.0
KEY_COLOUR = (1.95, 1.12, 0.56)
FILL_COLOUR = (0.17, 0.23, 0.40)
BOUNCE_COLOUR = (0.13, 0.085, 0.06)
BACKDROP_Z = 104.0


@compiled
def into_frame(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, float, float]:
    """A direction of the table in the frame of thing i: its turn undone, then its roll."""
    c, s = things[i, TURN], things[i, TURN + 1]
    x, z = c * x - s * z, s * x + c * z
    c, s = things[i, ROLL], things[i, ROLL + 1]
    return c * x + s * y, -s * x + c * y, z


@compiled
def out_of_frame(x: float, y: float, z: float, things: Table, i: int) -> tuple[float, float, float]:
    """A direction of the frame of thing i on the table."""
    c, s = things[i, ROLL], things[i, ROLL + 1]
    x, y = c * x - s * y, s * x + c * y
    c, s = things[i, TURN], things[i, TURN + 1]
    return c * x + s * z, y, -s * x + c * z


@compiled
def crossing(
    ox: float, oy: float, oz: float, ix: float, iy: float, iz: float, things: Table, i: int
) -> tuple[float, float]:
    """Where a ray (its direction given as reciprocals) enters and leaves the box of thing i."""
    ax, bx = (things[i, LOW] - ox) * ix, (things[i, HIGH] - ox) * ix
    ay, by = (things[i, LOW + 1] - oy) * iy, (things[i, HIGH + 1] - oy) * iy
    az, bz = (things[i, LOW + 2] - oz) * iz, (things[i, HIGH + 2] - oz) * iz
    return (
        max(min(ax, bx), min(ay, by), min(az, bz)),
        min(max(ax, bx), max(ay, by), max(az, bz)),
    )


@compiled
def reciprocal(value: float) -> float:
    """One over a value, finite for zero too."""
    return 1.0 / value if abs(value) > 1e-9 else 1e9


@compiled
def first_hit(
    ox: float, oy: float, oz: float, dx: float, dy: float, dz: float, limit: float, things: Table,
    fine: float, anything: bool,
) -> tuple[float, int, int]:  # fmt: skip
    """(distance, thing, part) of the first thing met before `limit`; thing is WATER if none.

    The row of a group holds the box round the things that follow it: a miss skips them all.
    With `anything` the search stops at the first obstacle found, near or far: for shadows.
    """
    best, who, which = limit, WATER, 0
    ix, iy, iz = reciprocal(dx), reciprocal(dy), reciprocal(dz)
    row = 0
    while row < things.shape[0]:
        i = row
        enter, leave = crossing(ox, oy, oz, ix, iy, iz, things, i)
        t, leave = max(enter, 0.0), min(leave, best)
        kind = int(things[i, KIND])
        row += int(things[i, HELD]) if t >= leave else 1
        if t >= leave or kind == GROUP:
            continue
        px, py, pz = into_frame(
            ox - things[i, PLACE], oy - things[i, PLACE + 1], oz - things[i, PLACE + 2], things, i
        )
        qx, qy, qz = into_frame(dx, dy, dz, things, i)
        for _ in range(110):
            d, part = shape(kind, px + t * qx, py + t * qy, pz + t * qz, things, i)
            if d < fine * (1.0 + 0.01 * t):
                best, who, which = t, i, part
                break
            t += 0.92 * d
            if t > leave:
                break
        if anything and who >= 0:
            break
    return best, who, which


@compiled
def openness(
    x: float, y: float, z: float, nx: float, ny: float, nz: float, things: Table, care: int
) -> float:
    """How much of the soft light from all round reaches a point: 1 in the open.

    `care` is 4 for what the eye sees, 2 for what it sees mirrored.
    """
    shut, stride = 0.0, 4 // care
    for step in range(stride - 1, 4, stride):
        reach = 0.22 * 2.7**step
        px, py, pz = x + reach * nx, y + reach * ny, z + reach * nz
        near = min(reach, max(py, 0.0) + 0.02)
        row = 0
        while row < things.shape[0]:
            i = row
            gx = max(things[i, LOW] - px, px - things[i, HIGH], 0.0)
            gy = max(things[i, LOW + 1] - py, py - things[i, HIGH + 1], 0.0)
            gz = max(things[i, LOW + 2] - pz, pz - things[i, HIGH + 2], 0.0)
            apart = gx * gx + gy * gy + gz * gz >= near * near
            kind = int(things[i, KIND])
            row += int(things[i, HELD]) if apart else 1
            if apart or kind == GROUP:
                continue
            qx, qy, qz = into_frame(
                px - things[i, PLACE],
                py - things[i, PLACE + 1],
                pz - things[i, PLACE + 2],
                things,
                i,
            )
            d, _ = shape(kind, qx, qy, qz, things, i)
            near = min(near, max(d, 0.0))
        shut += stride * (1.0 - near / reach) * (0.34 - 0.05 * step)
    return clamp(1.0 - shut, 0.06, 1.0) ** 1.15


@compiled
def facing(
    kind: int, x: float, y: float, z: float, things: Table, i: int
) -> tuple[float, float, float]:
    """The way the surface of thing i faces, in its own frame."""
    e = 0.009
    a, _ = shape(kind, x + e, y - e, z - e, things, i)
    b, _ = shape(kind, x - e, y - e, z + e, things, i)
    c, _ = shape(kind, x - e, y + e, z - e, things, i)
    d, _ = shape(kind, x + e, y + e, z + e, things, i)
    nx, ny, nz = a - b - c + d, -a - b + c + d, -a + b - c + d
    size = sqrt(nx * nx + ny * ny + nz * nz) + 1e-12
    return nx / size, ny / size, nz / size


@compiled
def key_light(
    x: float, y: float, z: float, nx: float, ny: float, nz: float, vx: float, vy: float, vz: float,
    gloss: float, soft: float, u: float, v: float, things: Table,
) -> tuple[float, float]:  # fmt: skip
    """(diffuse, highlight) of the key at a point, through one point (u, v) of the softbox."""
    r, angle = KEY_RADIUS * sqrt(u), 2.0 * pi * v
    lx, ly = KEY[0] + 0.75 * r * cos(angle) - x, KEY[1] + r * sin(angle) - y
    lz = KEY[2] - 0.75 * r * cos(angle) - z
    far = sqrt(lx * lx + ly * ly + lz * lz)
    lx, ly, lz = lx / far, ly / far, lz / far
    shine = nx * lx + ny * ly + nz * lz
    wrapped = (shine + soft) / (1.0 + soft)
    if wrapped <= 0.0:
        return 0.0, 0.0
    lift = 0.03
    _, who, _ = first_hit(
        x + lift * nx, y + lift * ny, z + lift * nz, lx, ly, lz, far, things, 0.006, True
    )
    if who >= 0:
        return 0.0, 0.0
    strength = 121.0**2 / (far * far)
    hx, hy, hz = lx - vx, ly - vy, lz - vz
    size = sqrt(hx * hx + hy * hy + hz * hz) + 1e-9
    half = max((nx * hx + ny * hy + nz * hz) / size, 0.0)
    power = 6.0 * 60.0**gloss
    highlight = 0.06 * gloss * (power + 8.0) * half**power * max(shine, 0.0)
    return wrapped * strength, highlight * strength


@compiled
def practicals(
    x: float, y: float, z: float, nx: float, ny: float, nz: float, things: Table, lamps: Table,
    care: int,
) -> tuple[float, float, float]:  # fmt: skip
    """The light of the little lamps on the set; each fades to nothing at its reach."""
    r = g = b = 0.0
    for i in range(lamps.shape[0]):
        lx, ly, lz = lamps[i, 0] - x, lamps[i, 1] - y, lamps[i, 2] - z
        far2 = lx * lx + ly * ly + lz * lz
        reach = lamps[i, 6]
        if far2 >= reach * reach:
            continue
        far = sqrt(far2) + 1e-6
        shine = 0.15 + 0.85 * (nx * lx + ny * ly + nz * lz) / far
        if shine <= 0.0:
            continue
        fade = (1.0 - far2 / (reach * reach)) ** 2 * shine / (1.0 + 0.12 * far2)
        if far > 1.2 and care == 4 and fade * lamps[i, 3] > 0.03:
            _, who, _ = first_hit(
                x + 0.04 * nx, y + 0.04 * ny, z + 0.04 * nz, lx / far, ly / far, lz / far,
                far - 0.9, things, 0.01, True,
            )  # fmt: skip
            if who >= 0:
                continue
        r, g, b = r + fade * lamps[i, 3], g + fade * lamps[i, 4], b + fade * lamps[i, 5]
    return r, g, b


@compiled
def lit(
    x: float, y: float, z: float, nx: float, ny: float, nz: float, vx: float, vy: float, vz: float,
    r: float, g: float, b: float, gloss: float, soft: float, u: float, v: float,
    things: Table, lamps: Table, care: int,
) -> tuple[float, float, float]:  # fmt: skip
    """What a matt or glossy surface sends to the eye: key, fill, bounce and the little lamps."""
    open_ = openness(x, y, z, nx, ny, nz, things, care)
    key, shine = key_light(x, y, z, nx, ny, nz, vx, vy, vz, gloss, soft, u, v, things)
    pr, pg, pb = practicals(x, y, z, nx, ny, nz, things, lamps, care)
    up = 0.5 + 0.5 * ny
    fill = open_ * (0.35 + 0.65 * up) * (1.0 - 0.25 * nz)
    bounce = open_ * (1.0 - up) * exp(-0.06 * max(y, 0.0))
    rim = soft * 0.6 * (1.0 - abs(nx * vx + ny * vy + nz * vz)) ** 3 * open_
    return (
        r * (KEY_COLOUR[0] * key + (FILL_COLOUR[0] * (fill + rim)) + BOUNCE_COLOUR[0] * bounce + pr)
        + KEY_COLOUR[0] * shine,
        g * (KEY_COLOUR[1] * key + (FILL_COLOUR[1] * (fill + rim)) + BOUNCE_COLOUR[1] * bounce + pg)
        + KEY_COLOUR[1] * shine,
        b * (KEY_COLOUR[2] * key + (FILL_COLOUR[2] * (fill + rim)) + BOUNCE_COLOUR[2] * bounce + pb)
        + KEY_COLOUR[2] * shine,
    )


@compiled
def thing_seen(
    ox: float, oy: float, oz: float, dx: float, dy: float, dz: float, t: float, i: int, part: int,
    u: float, v: float, things: Table, lamps: Table, care: int,
) -> tuple[float, float, float]:  # fmt: skip
    """The colour of thing i where a ray meets it."""
    kind = int(things[i, KIND])
    x, y, z = ox + t * dx, oy + t * dy, oz + t * dz
    px, py, pz = into_frame(
        x - things[i, PLACE], y - things[i, PLACE + 1], z - things[i, PLACE + 2], things, i
    )
    mx, my, mz = facing(kind, px, py, pz, things, i)
    r, g, b, gloss, tooth, er, eg, eb = finish(kind, part, px, py, pz, mx, mz, things, i)
    mx += tooth * noise(8.0 * px, 8.0 * py, 8.0 * pz)
    my += tooth * noise(8.0 * px + 50.0, 8.0 * py, 8.0 * pz)
    mz += tooth * noise(8.0 * px, 8.0 * py + 50.0, 8.0 * pz)
    size = sqrt(mx * mx + my * my + mz * mz)
    nx, ny, nz = out_of_frame(mx / size, my / size, mz / size, things, i)
    soft = 0.0
    if tooth > 0.19:
        soft = 0.9 if part == COTTON else 0.35
    r, g, b = lit(x, y, z, nx, ny, nz, dx, dy, dz, r, g, b, gloss, soft, u, v, things, lamps, care)
    return r + er, g + eg, b + eb


@compiled
def sky(x: float, y: float) -> tuple[float, float, float]:
    """The painted backdrop: peach above the hills, rose, then slate blue; the brush shows."""
    stroke = rough(0.035 * x + 5.0, 0.11 * y + 0.012 * x, 1.0)
    bristle = noise(0.13 * x, 1.5 * y + 1.6 * stroke, 3.0)
    h = y + 3.4 * stroke + 0.02 * (x + 20.0)
    low, mid = exp(-(((h - 14.0) / 12.0) ** 2)), exp(-(((h - 29.0) / 10.5) ** 2))
    glow = exp(-(((x + 16.0) / 42.0) ** 2)) * exp(-(((y - 15.0) / 13.0) ** 2))
    cx, cy = x // 7.5, y // 7.5
    sx = x - 7.5 * (cx + 0.2 + 0.6 * dice(int(cx), int(cy), 61))
    sy = y - 7.5 * (cy + 0.2 + 0.6 * dice(int(cx), int(cy), 62))
    size = 0.20 * dice(int(cx), int(cy), 63)
    star = 1.1 if y > 33.0 and hypot(sx, sy) < size else 0.0
    tone = (1.0 + 0.055 * bristle + 0.08 * stroke) * 0.62
    return (
        star + tone * (0.045 + 0.80 * low + 0.30 * mid + 0.35 * glow),
        0.85 * star + tone * (0.095 + 0.37 * low + 0.125 * mid + 0.17 * glow),
        0.6 * star + tone * (0.185 + 0.17 * low + 0.135 * mid + 0.03 * glow),
    )


@compiled
def backdrop(
    ox: float, oy: float, oz: float, dx: float, dy: float, dz: float
) -> tuple[float, float, float]:
    """The paint that a ray meets on the backdrop; the top of the paint where it goes over it."""
    if dz <= 0.02:
        return sky(ox, 70.0)
    t = (BACKDROP_Z - oz) / dz
    return sky(ox + t * dx, min(oy + t * dy, 90.0))


@compiled
def swell(x: float, z: float) -> float:
    """The height of the film laid for water, in cm: long pleats, crossed by small crinkles."""
    bend = noise(0.09 * x, 0.0, 0.14 * z)
    pleat = sin(1.15 * z + 0.16 * x + 2.6 * bend) + 0.6 * sin(2.1 * z - 0.23 * x + 3.3 * bend)
    crease = 1.0 - abs(noise(0.34 * x + 3.0, 1.0, 0.8 * z + 2.0 * bend))
    small = noise(1.2 * x, 5.0, 2.0 * z)
    return 0.026 * pleat + 0.035 * crease * crease + 0.006 * small


@compiled
def water_seen(
    ox: float, oy: float, oz: float, dx: float, dy: float, dz: float, t: float, u: float, v: float,
    things: Table, lamps: Table,
) -> tuple[float, float, float]:  # fmt: skip
    """Glossy film over a painted board: the paint, seen through it, and the set mirrored in it."""
    x, z = ox + t * dx, oz + t * dz
    e = 0.03
    here = swell(x, z)
    nx, nz = (here - swell(x + e, z)) / e, (here - swell(x, z + e)) / e
    size = sqrt(1.0 + nx * nx + nz * nz)
    nx, ny, nz = nx / size, 1.0 / size, nz / size
    streak = rough(0.11 * x, 3.0, 0.5 * z)
    r, g, b = 0.022 + 0.02 * streak, 0.10 + 0.05 * streak, 0.125 + 0.05 * streak
    r, g, b = lit(x, 0.0, z, nx, ny, nz, dx, dy, dz, r, g, b, 0.0, 0.0, u, v, things, lamps, 4)
    toward = -(dx * nx + dy * ny + dz * nz)
    mirror = 0.045 + 0.955 * (1.0 - clamp(toward, 0.0, 1.0)) ** 5
    rx, ry, rz = dx + 2.0 * toward * nx, dy + 2.0 * toward * ny, dz + 2.0 * toward * nz
    if ry < 0.01:
        ry = 0.02 - ry
    far, who, part = first_hit(x, 0.02, z, rx, ry, rz, 400.0, things, 0.006, False)
    if who >= 0:
        mr, mg, mb = thing_seen(x, 0.02, z, rx, ry, rz, far, who, part, u, v, things, lamps, 2)
    else:
        mr, mg, mb = backdrop(x, 0.0, z, rx, ry, rz)
    return (
        blend(r, min(mr, 5.0), mirror),
        blend(g, min(mg, 5.0), mirror),
        blend(b, min(mb, 5.0), mirror),
    )


@compiled
def seen(
    ox: float, oy: float, oz: float, dx: float, dy: float, dz: float, u: float, v: float,
    things: Table, lamps: Table,
) -> tuple[float, float, float]:  # fmt: skip
    """The light that comes back along a ray of the camera."""
    surface = -oy / dy if dy < -1e-6 else FAR
    t, i, part = first_hit(ox, oy, oz, dx, dy, dz, min(surface, 400.0), things, 0.002, False)
    if i >= 0:
        return thing_seen(ox, oy, oz, dx, dy, dz, t, i, part, u, v, things, lamps, 4)
    if surface < 250.0 and oz + surface * dz < BACKDROP_Z:
        return water_seen(ox, oy, oz, dx, dy, dz, surface, u, v, things, lamps)
    return backdrop(ox, oy, oz, dx, dy, dz)


@compiled
def woven(column: int, row: int, thread: int) -> float:
    """A shift in [0, 1) for a pixel; any 3 x 3 neighbours have shifts spread over the whole range.

    Interleaved gradient noise (J. Jimenez, SIGGRAPH courses, 2014; constants from memory).
    """
    x, y = column + 47.0 * thread, row + 17.0 * thread
    if thread % 2:
        x, y = y, x
    return (52.9829189 * ((0.06711056 * x + 0.00583715 * y) % 1.0)) % 1.0


@compiled
def spread(shift: float, sample: int, stride: float) -> float:
    """Sample number `sample` of an evenly spread sequence in [0, 1)."""
    return (shift + sample * stride) % 1.0


@compiled
def camera_ray(
    px: float, py: float, width: int, height: int, u: float, v: float
) -> tuple[float, float, float, float, float, float]:
    """Origin on the lens and direction, for a point of the still in pixels and of the lens."""
    sx = (2.0 * px / width - 1.0) * HALF_WIDTH
    sy = (1.0 - 2.0 * py / height) * HALF_WIDTH * height / width
    r, angle = LENS_RADIUS * sqrt(u), 2.0 * pi * v
    ax, ay = r * cos(angle), r * sin(angle)
    fx, fy, fz = sx * FOCUS - ax, sy * FOCUS - ay, FOCUS
    c, s = cos(PITCH), sin(PITCH)
    size = sqrt(fx * fx + fy * fy + fz * fz)
    dx, dy, dz = fx / size, (c * fy + s * fz) / size, (c * fz - s * fy) / size
    return EYE[0] + ax, EYE[1] + c * ay, EYE[2] - s * ay, dx, dy, dz


@numba.njit(parallel=True, cache=True, fastmath=True, error_model="numpy")
def expose(light: Light, wanted: Mask, samples: int, things: Table, lamps: Table) -> None:
    """Fill the wanted pixels of `light`, (height, width, 3) float32 linear, with the set.

    The strides are the powers of the root of g**7 = g + 1, the evenly spread sequence for six
    dimensions: place in the pixel, place on the lens, place on the softbox.
    """
    height, width = light.shape[0], light.shape[1]
    g = 1.1127756842787055
    for row in numba.prange(height):
        for column in range(width):
            if not wanted[row, column]:
                continue
            r = green = b = 0.0
            for n in range(samples):
                a1 = spread(woven(column, row, 1), n, 1.0 / g)
                a2 = spread(woven(column, row, 2), n, 1.0 / g**2)
                a3 = spread(woven(column, row, 3), n, 1.0 / g**3)
                a4 = spread(woven(column, row, 4), n, 1.0 / g**4)
                a5 = spread(woven(column, row, 5), n, 1.0 / g**5)
                a6 = spread(woven(column, row, 6), n, 1.0 / g**6)
                ox, oy, oz, dx, dy, dz = camera_ray(column + a1, row + a2, width, height, a3, a4)
                sr, sg, sb = seen(ox, oy, oz, dx, dy, dz, a5, a6, things, lamps)
                r, green, b = r + min(sr, 8.0), green + min(sg, 8.0), b + min(sb, 8.0)
            light[row, column, 0] = r / samples
            light[row, column, 1] = green / samples
            light[row, column, 2] = b / samples


def screen_place(point: tuple[float, float, float], width: int, height: int) -> tuple[float, float]:
    """Where a point of the table lands on the still, in pixels."""
    x, y, z = (np.subtract(point, EYE)).tolist()
    c, s = cos(PITCH), sin(PITCH)
    up, deep = c * y - s * z, s * y + c * z
    sx, sy = x / deep / HALF_WIDTH, up / deep / (HALF_WIDTH * height / width)
    return (0.5 + 0.5 * sx) * width, (0.5 - 0.5 * sy) * height
