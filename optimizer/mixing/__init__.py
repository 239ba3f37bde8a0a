"""From ingredients to densities and back: what is weighed together. It knows no ball."""

from optimizer.mixing.ingredients import Ingredient
from optimizer.mixing.recipe import End, Mix, Recipe

__all__ = ["End", "Ingredient", "Mix", "Recipe"]
