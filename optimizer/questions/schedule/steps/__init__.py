"""The best line-up on the steps of density that the shop can hold."""
