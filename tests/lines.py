"""Lines of any size, for pictures, pages and benchmarks: so many parts, so many weights."""

from __future__ import annotations

from optimizer_texts import INCHES, METRIC, head

PARTS = (
    ("cover", None, "sphere", (8.56,), 0.0, "shell"),
    ("mantle", "cover", "sphere", (7.40,), 0.0, "light"),
    ("block", "mantle", "spheroid", (3.40, 6.10), 0.3, "filled"),
    ("heart", "block", "capsule", (2.10, 4.60), 0.25, "dense"),
    ("girdle", "mantle", "ring", (4.90, 0.42), 0.0, "filled"),
    ("upper girdle", "mantle", "ring", (4.70, 0.36), 0.9, "filled"),
    ("lower girdle", "mantle", "ring", (4.70, 0.36), -0.9, "filled"),
    ("head bead", "heart", "sphere", (1.00,), 1.5, "dense"),
    ("foot bead", "heart", "sphere", (1.00,), -1.0, "dense"),
    ("middle bead", "heart", "sphere", (0.80,), 0.25, "dense"),
    ("the very top rim", "mantle", "ring", (3.60, 0.30), 2.3, "filled"),
    ("the bottom rim", "mantle", "ring", (3.60, 0.30), -2.2, "filled"),
)
"""Name, host, shape and its lengths in inches, how far up it sits, material."""
FIELDS = {
    "sphere": ("diameter",),
    "spheroid": ("diameter", "height"),
    "capsule": ("diameter", "height"),
    "ring": ("diameter", "thickness"),
}
WEIGHTS = (16, 15, 14, 13, 12, 11, 10, 9)
MATERIALS = {
    "shell": (1.10, 1.24, 0.010),
    "light": (0.30, 1.80, 0.015),
    "filled": (0.40, 3.30, 0.025),
    "dense": (0.50, 3.75, 0.030),
}


def line_text(parts: int, weights: int, *, metric: bool = False) -> str:
    """Return a scenario with the first `parts` (3 to 12) and `weights` (1 to 8, from 16 lb down).

    From six parts on the first five weights are feasible, and all eight never.
    """
    inch, pound, density = (25.4, 0.45359237, 1000.0) if metric else (1.0, 1.0, 1.0)
    masses = {one: (one - 0.1 if one == 16 else one + 0.1) * pound for one in WEIGHTS[:weights]}
    text = head(
        "Hazel",
        {str(one): f"{mass:.6g}" for one, mass in masses.items()},
        (f"{2.56 * inch:.6g}", f"{0.036 * inch:.6g}"),
        units=METRIC if metric else INCHES,
        about="cg",
        tolerance=[f"{one:.6g}" for one in (0.06 * pound, 0.003 * inch, 0.001 * inch)],
    )
    for name, (low, high, spread) in MATERIALS.items():
        text += f"[materials.{name}]\n"
        text += f"density = [{low * density:.6g}, {high * density:.6g}]\n"
        text += f"tolerance = {spread * density:.6g}\n"
    for name, host, kind, lengths, up, material in PARTS[:parts]:
        shape = ", ".join(
            f"{field} = {length * inch:.6g}"
            for field, length in zip(FIELDS[kind], lengths, strict=True)
        )
        text += f'[[parts]]\nname = "{name}"\nmaterial = "{material}"\n'
        text += f'shape = {{ kind = "{kind}", {shape} }}\n'
        text += f'inside = "{host}"\nat = [0, 0, {up * inch:.6g}]\n' if host else ""
    return text + (
        '[limits]\nrulebook = "usbc"\n'
        "top_weight = { min = 1.0, max = 4.0, tolerance = 0.25 }\n"
        f"wall = {{ min = {0.08 * inch:.6g}, tolerance = {0.02 * inch:.6g} }}\n"
    )
