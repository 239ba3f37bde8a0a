"""The map of colours: the one that is published, ever lighter, with an ink that reads on it."""

from __future__ import annotations

import numpy as np
import pytest

from optimizer.paper.pictures.cividis import colour, ink, luminance

SHARES = np.linspace(0.0, 1.0, 256)


def channels(told: str) -> np.ndarray:
    return np.array([int(told[k : k + 2], 16) for k in (1, 3, 5)])


def test_it_is_the_published_map():
    """Within 2/255 in every channel of the table that matplotlib carries."""
    table = pytest.importorskip("matplotlib").colormaps["cividis"].colors
    ours = np.array([channels(colour(share)) for share in SHARES.tolist()])
    assert np.max(np.abs(ours - 255 * np.array(table))) <= 2.0


def test_what_is_denser_is_lighter():
    """Strictly, by what is drawn: so that it reads in grey."""
    light = [luminance(share) for share in np.linspace(0.0, 1.0, 60).tolist()]
    assert np.all(np.diff(light) > 0.0)


def test_luminance_is_that_of_the_standard():
    """WCAG 2.2, relative luminance: of #00224e and #fee838, worked out by hand."""
    hand = []
    for rgb in ((0x00, 0x22, 0x4E), (0xFE, 0xE8, 0x38)):
        r, g, b = (((c / 255 + 0.055) / 1.055) ** 2.4 if c > 10 else c / 255 / 12.92 for c in rgb)
        hand.append(0.2126 * r + 0.7152 * g + 0.0722 * b)
    assert [luminance(0.0), luminance(1.0)] == pytest.approx(hand, rel=1e-12)


def test_its_ink_reads_on_every_colour():
    for share in SHARES.tolist():
        of_ink = 0.0 if ink(share) == "#000" else 1.0
        light, dark = sorted((luminance(share), of_ink), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 4.5


def test_outside_the_scale_its_ends_stand():
    assert (colour(-1.0), colour(2.0)) == (colour(0.0), colour(1.0))
