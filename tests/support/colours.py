"""What colours look like, by published formulas: contrast, difference, and how eyes see them that lack one kind of cone.

Colours are sRGB triples of 0 to 255.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from textual.color import Color

Rgb = tuple[float, float, float]
Lab = tuple[float, float, float]

# Machado, Oliveira and Fernandes, "A physiologically-based model for simulation of color vision deficiency", IEEE
# Transactions on Visualization and Computer Graphics 15(6), 2009: severity 1.0, applied to linear RGB.
EYES: dict[str, tuple[Rgb, Rgb, Rgb]] = {
    "usual": ((1, 0, 0), (0, 1, 0), (0, 0, 1)),
    "protanopia": ((0.152286, 1.052583, -0.204868), (0.114503, 0.786281, 0.099216), (-0.003882, -0.048116, 1.051998)),
    "deuteranopia": ((0.367322, 0.860646, -0.227968), (0.280085, 0.672501, 0.047413), (-0.011820, 0.042940, 0.968881)),
    "tritanopia": ((1.255528, -0.076749, -0.178779), (-0.078411, 0.930809, 0.147602), (0.004733, 0.691367, 0.303900)),
}
# From XYZ of linear sRGB, white D65 (IEC 61966-2-1).
_TO_XYZ = ((0.4124, 0.3576, 0.1805), (0.2126, 0.7152, 0.0722), (0.0193, 0.1192, 0.9505))
_WHITE = (0.9505, 1.0, 1.089)


def rgb(colour: str) -> Rgb:
    """The triple of a colour written as '#rrggbb'."""
    red, green, blue = Color.parse(colour).rgb
    return red, green, blue


def luminance(colour: Rgb) -> float:
    """Relative luminance as WCAG 2.2 defines it, 0 to 1."""
    return _times(_TO_XYZ, _linear(colour))[1]


def contrast(one: Rgb, other: Rgb) -> float:
    """Contrast ratio as WCAG 2.2 defines it, 1 to 21."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def difference(one: Rgb, other: Rgb, eye: str = "usual") -> float:
    """How different two colours look to such an eye: CIEDE2000."""
    return ciede2000(_lab(_dulled(one, eye)), _lab(_dulled(other, eye)))


def seen_by(colour: Rgb, eye: str) -> Rgb:
    """The colour that looks to the usual eye as this one looks to such an eye."""
    red, green, blue = (
        255 * (12.92 * part if part <= 0.0031308 else 1.055 * part ** (1 / 2.4) - 0.055)
        for part in _dulled(colour, eye)
    )
    return red, green, blue


def lightness(colour: Rgb) -> float:
    """CIE L*, 0 to 100."""
    return _lab(_linear(colour))[0]


def ciede2000(one: Lab, other: Lab) -> float:
    """The CIEDE2000 difference, written after Sharma, Wu and Dalal, Color Research and Application 30(1), 2005."""
    (l1, a1, b1), (l2, a2, b2) = one, other
    mean_c7 = ((math.hypot(a1, b1) + math.hypot(a2, b2)) / 2) ** 7
    stretch = 1 + 0.5 * (1 - math.sqrt(mean_c7 / (mean_c7 + 25**7)))
    (c1, h1), (c2, h2) = _polar(a1 * stretch, b1), _polar(a2 * stretch, b2)
    turn = (h2 - h1 + 180) % 360 - 180 if c1 * c2 else 0.0
    mean_h = (h1 + turn / 2) % 360 if c1 * c2 else h1 + h2
    mean_l, mean_c = (l1 + l2) / 2, (c1 + c2) / 2
    weight = (
        1
        - 0.17 * _cos(mean_h - 30)
        + 0.24 * _cos(2 * mean_h)
        + 0.32 * _cos(3 * mean_h + 6)
        - 0.20 * _cos(4 * mean_h - 63)
    )
    off_middle = (mean_l - 50) ** 2
    light = (l2 - l1) / (1 + 0.015 * off_middle / math.sqrt(20 + off_middle))
    chroma = (c2 - c1) / (1 + 0.045 * mean_c)
    hue = 2 * math.sqrt(c1 * c2) * math.sin(math.radians(turn / 2)) / (1 + 0.015 * mean_c * weight)
    spread = 2 * math.sqrt(mean_c**7 / (mean_c**7 + 25**7))
    rotation = -math.sin(math.radians(60 * math.exp(-(((mean_h - 275) / 25) ** 2)))) * spread
    return math.sqrt(light**2 + chroma**2 + hue**2 + rotation * chroma * hue)


def _dulled(colour: Rgb, eye: str) -> Rgb:
    red, green, blue = (min(1.0, max(0.0, part)) for part in _times(EYES[eye], _linear(colour)))
    return red, green, blue


def _linear(colour: Rgb) -> Rgb:
    red, green, blue = (
        part / 255 / 12.92 if part / 255 <= 0.04045 else ((part / 255 + 0.055) / 1.055) ** 2.4 for part in colour
    )
    return red, green, blue


def _lab(linear: Rgb) -> Lab:
    x, y, z = (
        ratio ** (1 / 3) if ratio > (6 / 29) ** 3 else ratio / (3 * (6 / 29) ** 2) + 4 / 29
        for ratio in (part / white for part, white in zip(_times(_TO_XYZ, linear), _WHITE, strict=True))
    )
    return 116 * y - 16, 500 * (x - y), 200 * (y - z)


def _times(matrix: Sequence[Rgb], vector: Rgb) -> Rgb:
    one, two, three = (sum(a * b for a, b in zip(row, vector, strict=True)) for row in matrix)
    return one, two, three


def _polar(a: float, b: float) -> tuple[float, float]:
    return math.hypot(a, b), math.degrees(math.atan2(b, a)) % 360


def _cos(degrees: float) -> float:
    return math.cos(math.radians(degrees))
