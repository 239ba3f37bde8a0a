"""Numbers of a scenario moved as little as will do, each change proven by solving again."""
