"""From ingredients to densities and back: what is weighed together. It knows no ball."""

from optimizer.mixing.ingredients import Ingredient, shipped
from optimizer.mixing.pourability import (
    INTRINSIC,
    MOST_LOADING,
    MOST_VISCOSITY,
    PACKING,
    loading_at,
    viscosity_at,
)
from optimizer.mixing.recipe import End, Mix, Recipe

__all__ = [
    "INTRINSIC",
    "MOST_LOADING",
    "MOST_VISCOSITY",
    "PACKING",
    "End",
    "Ingredient",
    "Mix",
    "Recipe",
    "loading_at",
    "shipped",
    "viscosity_at",
]
