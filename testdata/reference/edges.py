"""Small drawn bands, and where scikit-image sees their selvedges.

Run: python3 edges.py   (writes edges_*.png and edges_skimage.json beside itself)

Each picture is one coloured band on a plain ground, 8 pixels to a millimetre, its selvedges drawn from a
formula with 8 x 8 samples to a pixel, blurred and written as sRGB. The reference is scikit-image's own
contour (marching squares) at the middle level of the luminance, in pixels, pixel centres at integers.
"""
import json
from pathlib import Path

import numpy as np
import skimage
from skimage import filters, io, measure

WIDTH, HEIGHT, FINE = 400, 176, 8
ENDS = (40, 360)
HERE = Path(__file__).parent


def light(code):
    c = np.asarray(code) / 255.0
    return np.where(c <= 0.04045, c / 12.92, ((c + 0.055) / 1.055) ** 2.4)


def code(linear):
    c = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 0) ** (1 / 2.4) - 0.055)
    return np.clip(np.round(255 * c), 0, 255).astype(np.uint8)


def luminance(rgb):
    return light(rgb) @ np.array([0.2127, 0.7152, 0.0722])


def slant(x):
    return 0.02 * (x - 200), -0.015 * (x - 200)


def waves(x):
    return 4 * np.sin(x / 17.0), 3 * np.cos(x / 23.0)


def turns(x):
    """Round turns, every 32 px on a side, left and right in antiphase."""
    hump = lambda u: 6 * np.sqrt(np.maximum(0, 1 - ((u + 16) % 32 / 16 - 1) ** 2))
    return -hump(x), hump(x + 16)


def picture(edges, blur, cloth, ground, noise, seed):
    y = (np.arange(HEIGHT * FINE) + 0.5) / FINE - 0.5
    x = (np.arange(WIDTH * FINE) + 0.5) / FINE - 0.5
    top, bottom = edges(x)
    inside = (y[:, None] > 44 + top) & (y[:, None] < 132 + bottom) & (x > ENDS[0]) & (x < ENDS[1])
    share = inside.reshape(HEIGHT, FINE, WIDTH, FINE).mean((1, 3))
    share = filters.gaussian(share, blur, mode="nearest")[..., None]
    linear = light(ground) + (light(cloth) - light(ground)) * share
    shot = code(linear).astype(float)
    shot += np.random.default_rng(seed).normal(0, noise, shot.shape) if noise else 0
    return np.clip(np.round(shot), 0, 255).astype(np.uint8)


def seen(shot, cloth, ground, smooth):
    """Rows of the outermost crossings of each column well inside the band."""
    linear = luminance(shot)
    if smooth:
        linear = filters.gaussian(linear, smooth, mode="nearest")
    level = 0.5 * (luminance(cloth) + luminance(ground))
    points = np.concatenate(measure.find_contours(linear, level))
    columns = range(ENDS[0] + 24, ENDS[1] - 23)
    rows = [np.sort(points[np.abs(points[:, 1] - x) < 1e-9, 0]) for x in columns]
    return list(columns), [r[0] for r in rows], [r[-1] for r in rows]


cases = []
for name, edges, blur, cloth, ground, noise in (
    ("slant", slant, 0.6, (60, 85, 150), (228, 226, 220), 0.0),
    ("waves", waves, 1.0, (170, 70, 60), (225, 225, 222), 1.5),
    ("turns", turns, 0.8, (70, 120, 60), (220, 215, 205), 0.0),
    ("pale", waves, 1.4, (205, 190, 150), (60, 62, 66), 0.0),
):
    shot = picture(edges, blur, cloth, ground, noise, 7)
    io.imsave(HERE / f"edges_{name}.png", shot, check_contrast=False)
    columns, top, bottom = seen(shot, cloth, ground, 0.7 if noise else 0)
    cases.append({
        "picture": f"edges_{name}.png",
        "columns_px": [columns[0], columns[-1]],
        "top_px": [round(float(v), 4) for v in top],
        "bottom_px": [round(float(v), 4) for v in bottom],
    })
with open(HERE / "edges_skimage.json", "w") as file:
    json.dump({"made_by": f"edges.py, scikit-image {skimage.__version__}", "cases": cases}, file)
    file.write("\n")
