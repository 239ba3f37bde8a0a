"""The block of the scenario Aspen: four lobes round the axis, in mm, written as a binary STL."""

from __future__ import annotations

from pathlib import Path

import numpy as np

ROUND, UP = 60, 36
"""Steps round the axis, and from pole to pole."""
SCENARIO = Path(__file__).parents[2] / "scenarios" / "linden.stl"


def linden(finer: int = 1) -> bytes:
    """Return the file: triangles between points of a spheroid whose radius swells in four lobes."""
    up, count = finer * UP, finer * ROUND
    polar, azimuth = np.pi * np.arange(up + 1) / up, 2 * np.pi * np.arange(count) / count
    swell = 1 + 0.08 * np.outer(np.sin(polar) ** 4, np.cos(4 * azimuth))
    x, y = (50 * np.outer(np.sin(polar), turn(azimuth)) * swell for turn in (np.cos, np.sin))
    z = np.broadcast_to(75 * np.cos(polar)[:, None], x.shape)
    p = np.stack([x, y, z], axis=-1)
    p[[0, -1]] = [[[0, 0, 75]], [[0, 0, -75]]]
    q = np.roll(p, -1, axis=1)
    upper = np.stack([p[:-1], p[1:], q[1:]], axis=2)
    lower = np.stack([p[:-1], q[1:], q[:-1]], axis=2)
    corners = np.concatenate([upper[:-1].reshape(-1, 3, 3), lower[1:].reshape(-1, 3, 3)])
    rows = np.zeros(len(corners), dtype=[("normal", "<f4", 3), ("p", "<f4", (3, 3)), ("", "<u2")])
    rows["p"] = corners
    return b"linden, in mm".ljust(80) + len(rows).to_bytes(4, "little") + rows.tobytes()


if __name__ == "__main__":
    SCENARIO.write_bytes(linden())
